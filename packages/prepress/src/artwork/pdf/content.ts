// The operators of a content stream (ISO 32000, 7.8.2), with their places, so that single ones can be replaced and all else
// stays the designer's own bytes.

/** One operator with the operands before it. Operands are numbers, names (with their slash), or other things as "". */
export interface Operation {
  readonly operator: string;
  readonly operands: readonly (number | string)[];
  /** Bytes from the first operand to the operator's end. */
  readonly from: number;
  readonly to: number;
  /** The keys and values between BI and ID. */
  readonly inline?: readonly (number | string)[];
}

const WHITE = new Set([0, 9, 10, 12, 13, 32]);
const DELIMITERS = new Set(Array.from("()<>[]{}/%", (c) => c.charCodeAt(0)));
const code = (c: string): number => c.charCodeAt(0);
/** What ends a word, by byte. */
const ENDS = Uint8Array.from({ length: 256 }, (_, byte) => (WHITE.has(byte) || DELIMITERS.has(byte) ? 1 : 0));
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)$/;

/** Goes through a content stream; undefined when it is not one (a string without end, an inline image without EI). */
export const operationsOf = (bytes: Uint8Array): Operation[] | undefined => {
  const operations: Operation[] = [];
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let operands: (number | string)[] = [];
  let from = -1;
  let at = 0;
  let inline: (number | string)[] | undefined;
  const word = (): string => {
    const start = at;
    while (at < bytes.length && ENDS[bytes[at] as number] === 0) at++;
    return buffer.toString("latin1", start, at);
  };
  while (at < bytes.length) {
    const byte = bytes[at] as number;
    if (WHITE.has(byte)) {
      at++;
      continue;
    }
    if (byte === code("%")) {
      while (at < bytes.length && bytes[at] !== 10 && bytes[at] !== 13) at++;
      continue;
    }
    if (from < 0) from = at;
    if (byte === code("(")) {
      const end = afterString(bytes, at);
      if (end < 0) return undefined;
      at = end;
      operands.push("");
    } else if (byte === code("/")) {
      at++;
      operands.push(`/${word()}`);
    } else if (byte === code("<") && bytes[at + 1] !== code("<")) {
      while (at < bytes.length && bytes[at] !== code(">")) at++;
      at++;
      operands.push("");
    } else if (DELIMITERS.has(byte)) {
      // Arrays and dictionaries are taken apart: what is in them counts as operands, which no colour operator has.
      at++;
      operands.push("");
    } else {
      const text = word();
      if (NUMBER.test(text)) operands.push(Number(text));
      else if (text === "BI") {
        operands = [];
        inline = operands;
      } else if (text === "ID" && inline) {
        const end = afterInline(bytes, at);
        if (end < 0) return undefined;
        at = end;
        operations.push({ operator: "BI", operands: [], from, to: at, inline });
        [operands, from, inline] = [[], -1, undefined];
      } else if (/^(?:true|false|null)$/.test(text)) operands.push("");
      else {
        operations.push({ operator: text, operands, from, to: at });
        [operands, from] = [[], -1];
      }
    }
  }
  return operations;
};

/** Past a literal string: brackets nest, a backslash guards the next byte. */
const afterString = (bytes: Uint8Array, start: number): number => {
  let depth = 0;
  for (let at = start; at < bytes.length; at++) {
    if (bytes[at] === code("\\")) at++;
    else if (bytes[at] === code("(")) depth++;
    else if (bytes[at] === code(")") && --depth === 0) return at + 1;
  }
  return -1;
};

/** Past the EI of an inline image: alone between white space, and followed by what reads as a content stream. */
const afterInline = (bytes: Uint8Array, start: number): number => {
  for (let at = start + 1; at + 2 < bytes.length + 1; at++) {
    if (bytes[at] !== code("E") || bytes[at + 1] !== code("I") || !WHITE.has(bytes[at - 1] as number)) continue;
    const next = bytes.subarray(at + 2, at + 12);
    if (next.length > 0 && !WHITE.has(next[0] as number)) continue;
    if (next.every((b) => b === 9 || b === 10 || b === 13 || (b >= 32 && b < 127))) return at + 2;
  }
  return -1;
};

/** The stream with some operations written anew; the rest is copied byte for byte. */
export const rewritten = (
  bytes: Uint8Array,
  operations: readonly Operation[],
  anew: (operation: Operation) => string | undefined,
): Uint8Array => {
  const parts: Uint8Array[] = [];
  let done = 0;
  for (const operation of operations) {
    const text = anew(operation);
    if (text === undefined) continue;
    parts.push(bytes.subarray(done, operation.from), Buffer.from(text, "latin1"));
    done = operation.to;
  }
  parts.push(bytes.subarray(done));
  return Buffer.concat(parts);
};

/** The colour space of an inline picture: a name, "" for one that is written out, undefined for a stencil. */
export const inlineSpaceOf = (inline: readonly (number | string)[]): string | undefined => {
  const at = inline.findIndex((one) => one === "/CS" || one === "/ColorSpace");
  return at < 0 ? undefined : String(inline[at + 1]);
};
