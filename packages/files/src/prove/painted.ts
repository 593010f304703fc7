// One operator of a content stream after the other is one thing, though it is long.
import { createHash } from "node:crypto";
import { apply, fromPoints, IDENTITY, type Matrix, multiply, type Rect } from "@kitforme/geometry";
import type { ContentOperation } from "@kitforme/prepress";
import { PDFArray, PDFDict, PDFName, type PDFObject, type PDFPageLeaf, PDFRawStream, PDFRef } from "../pdf-lib.ts";
import { dictAt, name, type PrintFile } from "../check-print/read-print.ts";

/** One thing that a page paints: all that says what it looks like, and the part of the page outside of which it paints nothing. */
export interface PaintedItem {
  readonly key: string;
  /** Micrometres of the page, y up. */
  readonly box: Rect;
  /** Of a form or picture: from its own space to the page's points. */
  readonly placed?: Matrix;
  /** That form or picture. */
  readonly object?: PDFRawStream;
  /** Of a shape that is filled with a spot ink. */
  readonly plate?: Plate;
}

/** A spot ink, and how much of it from 0 to 1. */
export interface Plate {
  readonly name: string;
  readonly tint: number;
}

/** What a page paints, in its order, as the file's bytes say. */
export interface Painted {
  /** All around its contents that could change how they look. */
  readonly ground: string;
  readonly items: readonly PaintedItem[];
}

/** The same without the file that it came from. */
export const withoutObjects = ({ ground, items }: Painted): Painted => ({
  ground,
  items: items.map(({ key, box, placed }) => ({ key, box, ...(placed ? { placed } : {}) })),
});

type Box = readonly [left: number, bottom: number, right: number, top: number];

interface State {
  readonly ctm: Matrix;
  readonly fill: string;
  readonly plate?: Plate | undefined;
  readonly stroke: string;
  readonly pen: Readonly<Record<string, string>>;
  readonly width: number;
  /** In points of the page; absent where nothing is clipped. */
  readonly clip?: Box;
  readonly clips: string;
}

const START: State = { ctm: IDENTITY, fill: "", stroke: "", pen: {}, width: 1, clips: "" };
/** A corner of two lines may reach so many times the line's width beyond them (ISO 32000, 8.4.3.5: a miter limit of 10). */
const MITER = 10;

/** Hashes of what objects hold, all that they lead to included: object numbers of two files say nothing. */
class Contents {
  readonly #known = new Map<string, string>();
  readonly #file: PrintFile;

  constructor(file: PrintFile) {
    this.#file = file;
  }

  of(value: PDFObject | undefined): string {
    if (!(value instanceof PDFRef)) return this.#plain(value);
    const known = this.#known.get(value.tag);
    if (known !== undefined) return known;
    // A circle comes back to where it began.
    this.#known.set(value.tag, "circle");
    const made = createHash("sha256")
      .update(this.#plain(this.#file.document.context.lookup(value)))
      .digest("base64");
    this.#known.set(value.tag, made);
    return made;
  }

  #plain(value: PDFObject | undefined): string {
    if (value instanceof PDFRawStream)
      return `${this.#plain(value.dict)} ${createHash("sha256").update(value.getContents()).digest("base64")}`;
    if (value instanceof PDFArray)
      return `[${value
        .asArray()
        .map((one) => this.of(one))
        .join(" ")}]`;
    if (!(value instanceof PDFDict)) return String(value);
    return `<<${this.entries(value, []).join(" ")}>>`;
  }

  entries(dict: PDFDict, except: readonly string[]): string[] {
    return dict
      .entries()
      .filter(([key]) => !except.includes(key.asString().slice(1)))
      .map(([key, one]) => `${key.asString()} ${this.of(one)}`);
  }
}

/** Tables of names that a page's operators may call. */
const TABLES = ["XObject", "ExtGState", "ColorSpace"] as const;

/**
 * Takes a page of a print PDF apart into what it paints. Undefined where it holds an operator that no page of ours has: then
 * nothing is known of it.
 */
export const paintedOf = (file: PrintFile, index: number): Painted | undefined => {
  const page = file.pages[index];
  const program = page && file.programs.find(({ stream }) => stream === page.Contents());
  if (!page || !program) return undefined;
  const contents = new Contents(file);
  const resources = page.Resources();
  const names = new Map<string, { readonly hash: string; readonly object: PDFObject | undefined }>();
  for (const table of TABLES)
    for (const [key, value] of dictAt(resources, table)?.entries() ?? [])
      names.set(`${table} ${key.asString()}`, {
        hash: contents.of(value),
        object: file.document.context.lookup(value),
      });
  const items = itemsOf(program.operations, program.bytes, names);
  return items && { ground: groundOf(file, page, contents), items };
};

const groundOf = ({ catalog }: PrintFile, page: PDFPageLeaf, contents: Contents): string => {
  const spaces = dictAt(page.Resources(), "ColorSpace");
  const defaults = (spaces?.entries() ?? []).filter(([key]) => key.asString().startsWith("/Default"));
  const other = page.Resources();
  const parts = [
    ...contents.entries(page, ["Contents", "Parent", "Resources"]),
    ...(other ? contents.entries(other, [...TABLES]) : []),
    ...defaults.map(([key, value]) => `${key.asString()} ${contents.of(value)}`),
    ...contents.entries(catalog, ["Metadata", "Pages"]),
  ];
  return createHash("sha256").update(parts.join("\n")).digest("base64");
};

type Names = ReadonlyMap<string, { readonly hash: string; readonly object: PDFObject | undefined }>;

const itemsOf = (
  operations: readonly ContentOperation[],
  bytes: Uint8Array,
  names: Names,
): PaintedItem[] | undefined => {
  const items: PaintedItem[] = [];
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const stack: State[] = [];
  let state = START;
  let path: { readonly from: number; box: Box } | undefined;
  let clipping: string | undefined;
  const textOf = ({ from, to }: ContentOperation): string => buffer.toString("latin1", from, to);
  const paint = (how: string, box: Box, reach: number, more: Partial<PaintedItem> = {}): void => {
    const [left, bottom, right, top] = state.clip ? meet(grown(box, reach), state.clip) : grown(box, reach);
    const key = createHash("sha256")
      .update(`${state.ctm.join(" ")}\n${state.clips}\n${how}`)
      .digest("base64");
    const at = { x: fromPoints(left), y: fromPoints(bottom) };
    const size = { width: fromPoints(Math.max(0, right - left)), height: fromPoints(Math.max(0, top - bottom)) };
    items.push({ key, box: { ...at, ...size }, ...more });
  };
  for (const operation of operations) {
    const { operator, operands } = operation;
    const n = operands as readonly number[];
    const called = (table: (typeof TABLES)[number]) => names.get(`${table} ${String(operands.at(-1))}`);
    switch (operator) {
      case "q":
        stack.push(state);
        break;
      case "Q": {
        const back = stack.pop();
        if (!back) return undefined;
        state = back;
        break;
      }
      case "cm":
        state = { ...state, ctm: multiply(state.ctm, n as unknown as Matrix) };
        break;
      case "m":
      case "l":
      case "c":
      case "h": {
        path ??= { from: operation.from, box: NOTHING };
        for (let i = 0; i + 1 < n.length; i += 2)
          path.box = around(path.box, apply(state.ctm, n[i] as number, n[i + 1] as number));
        break;
      }
      case "W":
      case "W*":
        clipping = operator;
        break;
      case "f":
      case "S":
      case "n": {
        const drawn = path ? buffer.toString("latin1", path.from, operation.to) : operator;
        const box = path?.box ?? NOTHING;
        const { fill, plate, pen } = state;
        const more = JSON.stringify(pen);
        if (operator === "f") paint(`${fill}\n${pen["gs"] ?? ""}\n${drawn}`, box, 0, plate ? { plate } : {});
        if (operator === "S")
          paint(`${state.stroke}\n${more}\n${drawn}`, box, state.width * MITER * scaleOf(state.ctm));
        if (clipping !== undefined) {
          const clip = state.clip ? meet(state.clip, box) : box;
          state = { ...state, clip, clips: `${state.clips}\n${state.ctm.join(" ")} ${drawn}` };
        }
        [path, clipping] = [undefined, undefined];
        break;
      }
      case "g":
      case "rg":
      case "k":
        state = { ...state, fill: textOf(operation), plate: undefined };
        break;
      case "G":
      case "RG":
      case "K":
        state = { ...state, stroke: textOf(operation) };
        break;
      case "cs": {
        const space = called("ColorSpace");
        if (!space) return undefined;
        const [name] = plateNames(space.object);
        state = { ...state, fill: space.hash, plate: name === undefined ? undefined : { name, tint: 1 } };
        break;
      }
      case "scn":
        state = {
          ...state,
          fill: `${state.fill.split("\n")[0]}\n${textOf(operation)}`,
          plate: state.plate && { ...state.plate, tint: n[0] ?? 0 },
        };
        break;
      case "w":
        state = { ...state, width: n[0] ?? 1, pen: { ...state.pen, w: textOf(operation) } };
        break;
      case "j":
      case "J":
      case "M":
      case "d":
        state = { ...state, pen: { ...state.pen, [operator]: textOf(operation) } };
        break;
      case "gs": {
        const dict = called("ExtGState");
        if (!dict) return undefined;
        state = { ...state, pen: { ...state.pen, gs: `${state.pen["gs"] ?? ""}\n${dict.hash}` } };
        break;
      }
      case "Do": {
        const thing = called("XObject");
        const box = thing && boxOf(thing.object);
        if (!thing || !box) return undefined;
        const corners = [0, 1, 2, 3].map((i) =>
          apply(state.ctm, box[i & 1 ? 2 : 0] as number, box[i & 2 ? 3 : 1] as number),
        );
        const whole = corners.reduce<Box>(around, NOTHING);
        paint(`${state.fill}\n${state.stroke}\n${JSON.stringify(state.pen)}\n${thing.hash}`, whole, 0, {
          placed: state.ctm,
          object: thing.object as PDFRawStream,
        });
        break;
      }
      default:
        return undefined;
    }
  }
  return items;
};

/** Inks that a colour space names: of a Separation or of a DeviceN. */
export const plateNames = (space: PDFObject | undefined): string[] => {
  if (!(space instanceof PDFArray)) return [];
  const [family, names] = [space.lookup(0)?.toString(), space.lookup(1)];
  if (family === "/Separation" && names instanceof PDFName) return [names.decodeText()];
  if (family !== "/DeviceN" || !(names instanceof PDFArray)) return [];
  return names.asArray().flatMap((one) => (one instanceof PDFName ? [one.decodeText()] : []));
};

const NOTHING: Box = [Infinity, Infinity, -Infinity, -Infinity];

const around = ([left, bottom, right, top]: Box, [x, y]: readonly [x: number, y: number]): Box => [
  Math.min(left, x),
  Math.min(bottom, y),
  Math.max(right, x),
  Math.max(top, y),
];

const grown = ([left, bottom, right, top]: Box, by: number): Box => [left - by, bottom - by, right + by, top + by];

const meet = (a: Box, b: Box): Box => [
  Math.max(a[0], b[0]),
  Math.max(a[1], b[1]),
  Math.min(a[2], b[2]),
  Math.min(a[3], b[3]),
];

const scaleOf = ([a, b, c, d]: Matrix): number => Math.max(Math.hypot(a, b), Math.hypot(c, d));

/** What a form or a picture may cover, in the space of whoever draws it. */
const boxOf = (object: PDFObject | undefined): Box | undefined => {
  if (!(object instanceof PDFRawStream)) return undefined;
  const subtype = object.dict.lookup(PDFName.of("Subtype"))?.toString();
  if (subtype === "/Image") return [0, 0, 1, 1];
  const numbers = (key: string): readonly number[] | undefined => {
    const array = object.dict.lookup(name(key));
    return array instanceof PDFArray ? array.asArray().map((one) => Number(one.toString())) : undefined;
  };
  const box = numbers("BBox");
  if (subtype !== "/Form" || box?.length !== 4) return undefined;
  const matrix = (numbers("Matrix") ?? IDENTITY) as Matrix;
  return [0, 1, 2, 3]
    .map((i) => apply(matrix, box[i & 1 ? 2 : 0] as number, box[i & 2 ? 3 : 1] as number))
    .reduce<Box>(around, NOTHING);
};
