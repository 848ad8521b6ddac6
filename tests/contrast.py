"""Contrast of texts as a browser shows them (WCAG 2.2)."""

#: Each text's colour and what is behind it, as sRGB bytes: whatever way the style says it.
COLOURS = """() => {
  const pen = Object.assign(document.createElement('canvas'), {width: 1, height: 1})
    .getContext('2d', {willReadFrequently: true});
  const bytes = (under, over) => {
    pen.fillStyle = under; pen.fillRect(0, 0, 1, 1);
    pen.fillStyle = over; pen.fillRect(0, 0, 1, 1);
    const [r, g, b] = pen.getImageData(0, 0, 1, 1).data; return `rgb(${r}, ${g}, ${b})`;
  };
  const ground = e => !e ? 'rgb(255, 255, 255)'
    : bytes(ground(e.parentElement), getComputedStyle(e).backgroundColor);
  const found = {};
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.textContent.trim(), e = walker.currentNode.parentElement;
    if (!text || e.closest('desc, style')) continue;
    const style = getComputedStyle(e), ink = e.closest('svg') ? style.fill : style.color;
    const under = ground(e);
    found[[bytes(under, ink), under]] ??= text.slice(0, 40);
  }
  return Object.entries(found);
}"""


def luminance(rgb: list[int]) -> float:
    """Relative luminance of sRGB, WCAG 2.2, "relative luminance"."""
    parts = [value / 255 for value in rgb]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
