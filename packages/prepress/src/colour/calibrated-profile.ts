/** What a CalRGB space says (ISO 32000, 8.6.5.3): gammas, where its primaries lie in XYZ, column by column, and its white. */
export interface Calibrated {
  readonly white: readonly number[];
  readonly gamma: readonly number[];
  readonly matrix: readonly number[];
}

/** From XYZ to the cone responses that whites are adapted in (ICC.1:2010, annex E: linearised Bradford), by rows. */
const BRADFORD = [0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296] as const;
const BACK = [
  0.9869929, -0.1470543, 0.1599627, 0.4323053, 0.5183603, 0.0492912, -0.0085287, 0.0400428, 0.9684867,
] as const;
/** The white of profile connection (ICC.1:2010, 6.3.4.3). */
const D50 = [0.9642, 1, 0.8249] as const;

const times = (rows: readonly number[], [x = 0, y = 0, z = 0]: readonly number[]): [number, number, number] => {
  const row = (at: number): number =>
    (rows[at] as number) * x + (rows[at + 1] as number) * y + (rows[at + 2] as number) * z;
  return [row(0), row(3), row(6)];
};

/** A calibrated space as an ICC profile of three curves and a matrix (ICC.1:2010, 8.3.3), for the engine that reads profiles. */
export const calibratedProfile = ({ white, gamma, matrix }: Calibrated): Uint8Array => {
  const [from, to] = [times(BRADFORD, white), times(BRADFORD, D50)];
  const adapted = (xyz: readonly number[]): number[] =>
    times(
      BACK,
      times(BRADFORD, xyz).map((cone, i) => (cone * (to[i] as number)) / (from[i] as number)),
    );
  const tags: [string, Buffer][] = [
    ["desc", described("Calibrated RGB")],
    ["cprt", tagged("text", Buffer.from("No copyright\0", "latin1"))],
    ["wtpt", tagged("XYZ ", fixed(D50))],
    ...["r", "g", "b"].flatMap((light, i): [string, Buffer][] => [
      [`${light}XYZ`, tagged("XYZ ", fixed(adapted(matrix.slice(3 * i, 3 * i + 3))))],
      // A parametric curve of kind 0: a power alone.
      [`${light}TRC`, tagged("para", Buffer.concat([Buffer.alloc(4), fixed([gamma[i] as number])]))],
    ]),
  ];
  const head = Buffer.alloc(128 + 4 + 12 * tags.length);
  const size = tags.reduce((sum, [, bytes]) => sum + bytes.length, head.length);
  head.writeUInt32BE(size, 0);
  head.writeUInt32BE(0x04200000, 8);
  head.write("mntrRGB XYZ ", 12, "latin1");
  head.write("acsp", 36, "latin1");
  fixed(D50).copy(head, 68);
  head.writeUInt32BE(tags.length, 128);
  let at = head.length;
  for (const [i, [signature, bytes]] of tags.entries()) {
    head.write(signature, 132 + 12 * i, "latin1");
    head.writeUInt32BE(at, 136 + 12 * i);
    head.writeUInt32BE(bytes.length, 140 + 12 * i);
    at += bytes.length;
  }
  return new Uint8Array(Buffer.concat([head, ...tags.map(([, bytes]) => bytes)]));
};

/** Numbers of 16 bits before the point and 16 after. */
const fixed = (values: readonly number[]): Buffer => {
  const bytes = Buffer.alloc(4 * values.length);
  for (const [i, value] of values.entries()) bytes.writeInt32BE(Math.round(value * 65_536), 4 * i);
  return bytes;
};

/** The content of a tag behind its type, filled up to four bytes. */
const tagged = (type: string, content: Buffer): Buffer => {
  const bytes = Buffer.concat([Buffer.from(type, "latin1"), Buffer.alloc(4), content]);
  return Buffer.concat([bytes, Buffer.alloc((4 - (bytes.length % 4)) % 4)]);
};

/** A text in one language (ICC.1:2010, 10.13). */
const described = (text: string): Buffer => {
  const letters = Buffer.from(text, "utf16le").swap16();
  const head = Buffer.alloc(20);
  head.writeUInt32BE(1, 0);
  head.writeUInt32BE(12, 4);
  head.write("enUS", 8, "latin1");
  head.writeUInt32BE(letters.length, 12);
  head.writeUInt32BE(28, 16);
  return tagged("mluc", Buffer.concat([head, letters]));
};
