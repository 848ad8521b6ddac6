// The wire to the page's server: one socket, opened again when it breaks.

const hearers = new Map();
const rowHearers = [];
let socket = null;
let waitMs = 250;

export const linked = () => socket !== null && socket.readyState === WebSocket.OPEN;

export function say(does, what = "", value = 0) {
  if (!linked()) return false;
  socket.send(JSON.stringify({ do: does, what, value }));
  return true;
}

// Calls `hear` with what is told under `name`; "linked" is told with true or false.
export function on(name, hear) {
  if (!hearers.has(name)) hearers.set(name, []);
  hearers.get(name).push(hear);
}

// Calls `hear(anew, count, values)`; values stand column by column.
export function onRows(hear) {
  rowHearers.push(hear);
}

function tell(name, of) {
  for (const hear of hearers.get(name) ?? []) hear(of);
}

function heard(event) {
  if (typeof event.data === "string") {
    const said = JSON.parse(event.data);
    tell(said.tell, said.of);
    return;
  }
  const all = new Float64Array(event.data);
  for (const hear of rowHearers) hear(all[0] === 1, all[1], all.subarray(2));
}

export function open() {
  const address = new URL("wire", document.baseURI);
  address.protocol = "ws:";
  socket = new WebSocket(address);
  socket.binaryType = "arraybuffer";
  socket.onopen = () => {
    waitMs = 250;
    tell("linked", true);
  };
  socket.onmessage = heard;
  socket.onclose = () => {
    socket = null;
    tell("linked", false);
    setTimeout(open, waitMs);
    waitMs = Math.min(2 * waitMs, 5000);
  };
}
