// Functions of a PDF (ISO 32000, 7.10) worked out: the tables, exponentials, parts and programs that say which colour stands for
// a spot ink.
import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import { unpack } from "./unpack.ts";

/** Values in, values out, each within its range. */
export type Evaluate = (input: readonly number[]) => number[];

const name = (key: string): PDFName => PDFName.of(key);
const numbersIn = (dict: PDFDict, key: string): number[] | undefined => {
  const array = dict.lookup(name(key));
  if (!(array instanceof PDFArray)) return undefined;
  return array.asArray().map((_, i) => {
    const one = array.lookup(i);
    return one instanceof PDFNumber ? one.asNumber() : Number.NaN;
  });
};
const numberIn = (dict: PDFDict, key: string): number | undefined => {
  const value = dict.lookup(name(key));
  return value instanceof PDFNumber ? value.asNumber() : undefined;
};
const clamp = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);
const clampAll = (values: readonly number[], range: readonly number[] | undefined): number[] =>
  values.map((value, i) => (range ? clamp(value, range[2 * i] ?? value, range[2 * i + 1] ?? value) : value));

/** A function object as a function; undefined when it is not one that can be worked out. */
export const evaluator = (object: PDFObject | undefined, depth = 0): Evaluate | undefined => {
  const dict = object instanceof PDFRawStream ? object.dict : object;
  if (!(dict instanceof PDFDict) || depth > 8) return undefined;
  const [domain, range] = [numbersIn(dict, "Domain"), numbersIn(dict, "Range")];
  if (!domain) return undefined;
  const inner = innerOf(object as PDFDict | PDFRawStream, dict, domain, range, depth);
  return inner && ((input) => clampAll(inner(clampAll(input, domain)), range));
};

const innerOf = (
  object: PDFDict | PDFRawStream,
  dict: PDFDict,
  domain: readonly number[],
  range: readonly number[] | undefined,
  depth: number,
): Evaluate | undefined => {
  const kind = numberIn(dict, "FunctionType");
  if (kind === 2) {
    const [c0, c1, n] = [numbersIn(dict, "C0") ?? [0], numbersIn(dict, "C1") ?? [1], numberIn(dict, "N") ?? 1];
    return ([x = 0]) => c0.map((low, i) => low + x ** n * ((c1[i] as number) - low));
  }
  if (kind === 3) return parts(dict, domain, depth);
  if (!(object instanceof PDFRawStream) || !range) return undefined;
  if (kind === 4) return program(Buffer.from(unpack(object)).toString("latin1"));
  return kind === 0 ? table(object, dict, domain, range) : undefined;
};

const parts = (dict: PDFDict, domain: readonly number[], depth: number): Evaluate | undefined => {
  const functions = dict.lookup(name("Functions"));
  if (!(functions instanceof PDFArray)) return undefined;
  const made = functions.asArray().map((_, i) => evaluator(functions.lookup(i), depth + 1));
  const [bounds, encode] = [numbersIn(dict, "Bounds") ?? [], numbersIn(dict, "Encode")];
  if (made.some((one) => !one) || !encode) return undefined;
  const [low, high] = domain as [number, number];
  return ([x = 0]) => {
    const at = bounds.filter((bound) => x >= bound).length;
    const i = Math.min(at, made.length - 1);
    const [from, to] = [i === 0 ? low : (bounds[i - 1] as number), bounds[i] ?? high];
    const [e0, e1] = [encode[2 * i] ?? 0, encode[2 * i + 1] ?? 1];
    return (made[i] as Evaluate)([to === from ? e0 : e0 + ((x - from) * (e1 - e0)) / (to - from)]);
  };
};

/** Samples, mixed by how near they are in every direction. */
const table = (
  stream: PDFRawStream,
  dict: PDFDict,
  domain: readonly number[],
  range: readonly number[],
): Evaluate | undefined => {
  const [size, bits] = [numbersIn(dict, "Size"), numberIn(dict, "BitsPerSample")];
  const outputs = range.length / 2;
  if (!size || (bits !== 8 && bits !== 16)) return undefined;
  const bytes = unpack(stream);
  const most = 2 ** bits - 1;
  const encode = numbersIn(dict, "Encode") ?? size.flatMap((n) => [0, n - 1]);
  const decode = numbersIn(dict, "Decode") ?? range;
  const wanted = size.reduce((all, n) => all * n, outputs) * (bits / 8);
  if (bytes.length < wanted) return undefined;
  const sample = (at: number): number =>
    (bits === 8 ? (bytes[at] as number) : ((bytes[2 * at] as number) << 8) | (bytes[2 * at + 1] as number)) / most;
  return (input) => {
    const places = size.map((n, i) => {
      const [d0, d1, e0, e1] = [domain[2 * i], domain[2 * i + 1], encode[2 * i], encode[2 * i + 1]] as number[];
      const span = (d1 as number) - (d0 as number) || 1;
      const at = (e0 as number) + (((input[i] ?? 0) - (d0 as number)) * ((e1 as number) - (e0 as number))) / span;
      const within = clamp(at, 0, n - 1);
      const low = Math.min(Math.floor(within), Math.max(0, n - 2));
      return { low, share: within - low };
    });
    const sums = Array.from({ length: outputs }, () => 0);
    for (let corner = 0; corner < 2 ** size.length; corner++) {
      let [weight, at, step] = [1, 0, 1];
      for (const [i, { low, share }] of places.entries()) {
        const upper = (corner >> i) & 1;
        weight *= upper ? share : 1 - share;
        at += Math.min(low + upper, (size[i] as number) - 1) * step;
        step *= size[i] as number;
      }
      if (weight === 0) continue;
      for (let out = 0; out < outputs; out++) sums[out] = (sums[out] as number) + weight * sample(at * outputs + out);
    }
    return sums.map((sum, i) => (decode[2 * i] ?? 0) + sum * ((decode[2 * i + 1] ?? 1) - (decode[2 * i] ?? 0)));
  };
};

type Step = number | string | readonly Step[];

/** The calculator of type 4: a stack, arithmetic, comparisons, if and ifelse. */
const program = (source: string): Evaluate | undefined => {
  const words = source.match(/[{}]|[^\s{}]+/g) ?? [];
  let at = 0;
  const block = (): Step[] | undefined => {
    const steps: Step[] = [];
    for (at++; at < words.length; at++) {
      const word = words[at] as string;
      if (word === "}") return steps;
      if (word === "{") {
        const inner = block();
        if (!inner) return undefined;
        steps.push(inner);
      } else steps.push(Number.isNaN(Number(word)) ? word : Number(word));
    }
    return undefined;
  };
  const steps = words[0] === "{" ? block() : undefined;
  if (!steps) return undefined;
  return (input) => {
    const stack = [...input];
    calculate(steps, stack);
    return stack;
  };
};

const TWO: Readonly<Record<string, (a: number, b: number) => number>> = {
  add: (a, b) => a + b,
  sub: (a, b) => a - b,
  mul: (a, b) => a * b,
  div: (a, b) => a / b,
  idiv: (a, b) => Math.trunc(a / b),
  mod: (a, b) => a % b,
  exp: (a, b) => a ** b,
  atan: (a, b) => ((Math.atan2(a, b) * 180) / Math.PI + 360) % 360,
  eq: (a, b) => Number(a === b),
  ne: (a, b) => Number(a !== b),
  gt: (a, b) => Number(a > b),
  ge: (a, b) => Number(a >= b),
  lt: (a, b) => Number(a < b),
  le: (a, b) => Number(a <= b),
  and: (a, b) => a & b,
  or: (a, b) => a | b,
  xor: (a, b) => a ^ b,
  bitshift: (a, b) => (b >= 0 ? a << b : a >> -b),
};
const ONE: Readonly<Record<string, (a: number) => number>> = {
  abs: Math.abs,
  neg: (a) => -a,
  ceiling: Math.ceil,
  floor: Math.floor,
  round: Math.round,
  truncate: Math.trunc,
  cvi: Math.trunc,
  cvr: (a) => a,
  sqrt: Math.sqrt,
  sin: (a) => Math.sin((a * Math.PI) / 180),
  cos: (a) => Math.cos((a * Math.PI) / 180),
  ln: Math.log,
  log: Math.log10,
  not: (a) => (a === 0 || a === 1 ? 1 - a : ~a),
};

const calculate = (steps: readonly Step[], stack: number[]): void => {
  const pop = (): number => stack.pop() ?? 0;
  for (const [i, step] of steps.entries()) {
    if (typeof step === "number") stack.push(step);
    else if (typeof step !== "string") continue;
    else if (TWO[step]) {
      const b = pop();
      stack.push((TWO[step] as (a: number, b: number) => number)(pop(), b));
    } else if (ONE[step]) stack.push((ONE[step] as (a: number) => number)(pop()));
    else if (step === "true" || step === "false") stack.push(Number(step === "true"));
    else if (step === "pop") pop();
    else if (step === "dup") stack.push(stack.at(-1) ?? 0);
    else if (step === "exch") {
      const [b, a] = [pop(), pop()];
      stack.push(b, a);
    } else if (step === "copy") {
      const n = pop();
      if (n > 0) stack.push(...stack.slice(-n));
    } else if (step === "index") stack.push(stack.at(-1 - pop()) ?? 0);
    else if (step === "roll") {
      const [by, n] = [pop(), pop()];
      const top = stack.splice(stack.length - n, n);
      const turn = n > 0 ? ((by % n) + n) % n : 0;
      stack.push(...top.slice(n - turn), ...top.slice(0, n - turn));
    } else if (step === "if") {
      if (pop() !== 0) calculate(steps[i - 1] as readonly Step[], stack);
    } else if (step === "ifelse") calculate(steps[pop() !== 0 ? i - 2 : i - 1] as readonly Step[], stack);
  }
};
