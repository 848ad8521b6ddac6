// What is drawn of a stream of rows: the least and the most of each column in so many bins of time.
// The memory is laid out once; however long the stream, it does not grow.

const BINS = 600;

export class Bins {
  constructor(columns) {
    this.columns = columns;
    this.number = new Float64Array(BINS + 1); // which bin of all time stands at a place
    this.broken = new Uint8Array(BINS + 1); // data are missing somewhere in this bin
    this.low = columns.map(() => new Float64Array(BINS + 1));
    this.high = columns.map(() => new Float64Array(BINS + 1));
    this.last = columns.map(() => NaN);
    this.setWindow(20);
  }

  setWindow(seconds) {
    this.seconds = seconds;
    this.width = seconds / BINS;
    this.clear();
  }

  clear() {
    this.number.fill(-1);
    this.end = 0;
    this.gaps = 0;
  }

  // Takes rows, column by column, the first column being the time [s].
  add(count, values) {
    for (let row = 0; row < count; row += 1) {
      const time = values[row];
      if (Number.isNaN(time)) continue;
      const place = this.placeOf(time);
      const missing = this.columns.length > 1 && this.isMissing(count, values, row);
      if (missing) {
        this.broken[place] = 1;
        this.gaps += 1;
        continue;
      }
      for (let at = 0; at < this.columns.length; at += 1) {
        const value = values[at * count + row];
        if (value < this.low[at][place]) this.low[at][place] = value;
        if (value > this.high[at][place]) this.high[at][place] = value;
        this.last[at] = value;
      }
    }
  }

  isMissing(count, values, row) {
    for (let at = 1; at < this.columns.length; at += 1) {
      if (!Number.isNaN(values[at * count + row])) return false;
    }
    return true;
  }

  placeOf(time) {
    const number = Math.floor(time / this.width + 1e-6);
    const place = number % (BINS + 1);
    if (this.number[place] !== number) {
      this.number[place] = number;
      this.broken[place] = 0;
      for (let at = 0; at < this.columns.length; at += 1) {
        this.low[at][place] = Infinity;
        this.high[at][place] = -Infinity;
      }
    }
    if (time > this.end) this.end = time;
    return place;
  }

  // Returns the times and, for each of the columns at `wanted`, the values to be drawn.
  drawn(wanted) {
    const last = Math.floor(this.end / this.width + 1e-6);
    const times = [];
    const values = wanted.map(() => []);
    for (let number = Math.max(0, last - BINS + 1); number <= last; number += 1) {
      const place = number % (BINS + 1);
      if (this.number[place] !== number) continue;
      times.push(number * this.width, (number + 0.5) * this.width);
      wanted.forEach((at, index) => {
        const low = this.low[at][place];
        const known = low !== Infinity && !this.broken[place];
        values[index].push(known ? low : null, known ? this.high[at][place] : null);
      });
    }
    return [times, ...values];
  }
}
