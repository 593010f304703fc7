/** Numbers by fours, as many as come. */
export class Growing {
  data = new Float64Array(1024);
  length = 0;
  push4(a: number, b: number, c: number, d: number): void {
    if (this.length + 4 > this.data.length) {
      this.data = doubled(this.data);
    }
    const at = this.length;
    this.data[at] = a;
    this.data[at + 1] = b;
    this.data[at + 2] = c;
    this.data[at + 3] = d;
    this.length = at + 4;
  }
}

/** The same with as much room again. */
export const doubled = <T extends Int32Array | Float64Array | Uint8Array>(values: T): T => {
  const more = new (values.constructor as new (length: number) => T)(2 * values.length);
  more.set(values);
  return more;
};

/** Where to look for a pair of whole numbers in a table. */
export const hashOf = (a: number, b: number): number => {
  const h = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca6b);
  return h ^ (h >>> 15);
};
