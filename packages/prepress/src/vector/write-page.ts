import type { Matrix } from "@kitforme/geometry";
import { PDFContext, type PDFDict, type PDFObject, type PDFRef, PDFWriter } from "../pdf-lib.ts";
import { packed } from "../artwork/pdf/pack.ts";
import type { Colours } from "./colours.ts";
import { operatorsOf, written } from "./path.ts";
import { type Shading, shadingOf } from "./shading.ts";
import type { Clip, Group, Item, Paint, Shape } from "./shapes.ts";

/** Decimals of points: 0.35 micrometres. */
const DECIMALS = 3;

/**
 * A document of one page that paints the items. Same items and colours, same bytes.
 *
 * @param size points
 */
export async function writePage(
  items: readonly Item[],
  size: readonly [width: number, height: number],
  colours: Colours,
): Promise<Uint8Array> {
  const context = PDFContext.create();
  const box = [0, 0, ...size];
  const pen: Pen = { context, colours, box, shadings: new Map(), mixes: false, space: undefined };
  if (colours.named) pen.space = context.register(await colours.space(context));
  const { content, resources } = await draw(items, pen);
  const tree = context.nextRef();
  const page = {
    Type: "Page",
    Parent: tree,
    MediaBox: box,
    Resources: resources,
    Contents: context.register(await packed(context, content, {})),
    ...(pen.mixes ? { Group: groupOf(pen) } : {}),
  };
  context.assign(tree, context.obj({ Type: "Pages", Kids: [context.register(context.obj(page))], Count: 1 }));
  context.trailerInfo.Root = context.register(context.obj({ Type: "Catalog", Pages: tree }));
  return PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
}

interface Pen {
  readonly context: PDFContext;
  readonly colours: Colours;
  readonly box: readonly number[];
  /** Shadings by what they are. */
  readonly shadings: Map<string, Promise<Shading>>;
  /** Something is mixed with what lies under it. */
  mixes: boolean;
  /** The colours' space where it has no operators of its own. */
  space: PDFRef | undefined;
}

const groupOf = ({ colours }: Pen) => ({ Type: "Group", S: "Transparency", I: true, CS: colours.mixing });

/** What a stream has set, to say nothing twice. */
type State = Readonly<Record<string, string>>;

/** One stream and what it names. */
class Stream {
  readonly lines: string[] = [];
  readonly #names = new Map<string, Map<string, PDFObject>>();
  #state: State = {};
  readonly #saved: State[] = [];

  save(): void {
    this.lines.push("q");
    this.#saved.push(this.#state);
  }

  restore(): void {
    this.lines.push("Q");
    this.#state = this.#saved.pop() ?? {};
  }

  /** Sets something that holds until it is set anew. */
  set(what: string, operators: string): void {
    if (this.#state[what] === operators) return;
    this.#state = { ...this.#state, [what]: operators };
    this.lines.push(operators);
  }

  /** The name of an object in this stream's resources. */
  name(kind: string, prefix: string, key: string, object: () => PDFObject): string {
    const known = this.#names.get(kind) ?? new Map<string, PDFObject>();
    this.#names.set(kind, known);
    if (!known.has(key)) known.set(key, object());
    return `/${prefix}${[...known.keys()].indexOf(key)}`;
  }

  resources(context: PDFContext): PDFDict {
    const prefixes: Readonly<Record<string, string>> = PREFIXES;
    return context.obj(
      Object.fromEntries(
        [...this.#names].map(([kind, known]) => [
          kind,
          Object.fromEntries([...known.values()].map((object, i) => [`${prefixes[kind]}${i}`, object])),
        ]),
      ),
    );
  }
}

const PREFIXES = { ExtGState: "G", Pattern: "P", XObject: "X", ColorSpace: "C" } as const;

const draw = async (items: readonly Item[], pen: Pen): Promise<{ content: Uint8Array; resources: PDFDict }> => {
  const stream = new Stream();
  await drawAll(items, stream, pen);
  return { content: Buffer.from(stream.lines.join("\n"), "latin1"), resources: stream.resources(pen.context) };
};

const drawAll = async (items: readonly Item[], stream: Stream, pen: Pen): Promise<void> => {
  for (const item of items) await (item.kind === "group" ? drawGroup(item, stream, pen) : drawShape(item, stream, pen));
};

const drawGroup = async ({ clips, opacity, items }: Group, stream: Stream, pen: Pen): Promise<void> => {
  stream.save();
  for (const clip of clips) stream.lines.push(clipped(clip));
  if (opacity < 1) {
    // Its matrix is the page's own, so that gradients in it lie where they lay outside.
    const { content, resources } = await draw(items, pen);
    const form = pen.context.register(
      await packed(pen.context, content, {
        Type: pen.context.obj("XObject"),
        Subtype: pen.context.obj("Form"),
        BBox: pen.context.obj([...pen.box]),
        Resources: resources,
        Group: pen.context.obj(groupOf(pen)),
      }),
    );
    mix(opacity, opacity, stream, pen);
    stream.lines.push(`${stream.name("XObject", PREFIXES.XObject, form.toString(), () => form)} Do`);
  } else await drawAll(items, stream, pen);
  stream.restore();
};

const clipped = ({ parts, evenOdd }: Clip): string =>
  [...parts.map(({ path, matrix }) => operatorsOf(path, matrix, DECIMALS)), evenOdd ? "W* n" : "W n"].join("\n");

const mix = (fill: number, stroke: number, stream: Stream, pen: Pen): void => {
  const [ca, big] = [written(fill, 4), written(stroke, 4)];
  if (ca !== "1" || big !== "1") pen.mixes = true;
  const title = stream.name("ExtGState", PREFIXES.ExtGState, `${ca} ${big}`, () =>
    pen.context.obj({ Type: "ExtGState", ca: Number(ca), CA: Number(big) }),
  );
  stream.set("mix", `${title} gs`);
};

const drawShape = async (shape: Shape, stream: Stream, pen: Pen): Promise<void> => {
  const { path, matrix, fill, stroke, strokeFirst } = shape;
  const even = evenScale(matrix);
  // A line under an uneven matrix is wider one way than the other: it is drawn in the shape's own units.
  const apart = stroke !== undefined && even === undefined;
  if (apart) {
    stream.save();
    stream.lines.push(`${[...matrix].map((one) => written(one, 8)).join(" ")} cm`);
  }
  const outline = apart ? operatorsOf(path, [1, 0, 0, 1, 0, 0], 7) : operatorsOf(path, matrix, DECIMALS);
  mixOf(shape, stream, pen);
  if (fill) await setPaint(fill.paint, false, stream, pen);
  if (stroke) {
    await setPaint(stroke.paint, true, stream, pen);
    setLine(stroke, even ?? 1, stream);
  }
  const filling = fill?.evenOdd ? "f*" : "f";
  if (fill && stroke && !strokeFirst && fill.opacity * stroke.opacity === 1)
    stream.lines.push(outline, fill.evenOdd ? "B*" : "B");
  else if (fill && stroke) {
    const both = [filling, "S"];
    for (const operator of strokeFirst ? both.reverse() : both) stream.lines.push(outline, operator);
  } else stream.lines.push(outline, fill ? filling : "S");
  if (apart) stream.restore();
};

const mixOf = ({ fill, stroke }: Shape, stream: Stream, pen: Pen): void => {
  const opacity = fill?.opacity ?? stroke?.opacity ?? 1;
  mix(opacity, stroke?.opacity ?? opacity, stream, pen);
};

/** The scale of a matrix that scales all ways alike. */
const evenScale = ([a, b, c, d]: Matrix): number | undefined => {
  const [one, other] = [Math.hypot(a, b), Math.hypot(c, d)];
  const even = Math.abs(one - other) < 1e-5 * one && Math.abs(a * c + b * d) < 1e-5 * one * other;
  return even ? one : undefined;
};

const setLine = (
  { width, cap, join, miter, dash, offset }: NonNullable<Shape["stroke"]>,
  scale: number,
  stream: Stream,
): void => {
  const length = (value: number): string => written(value * scale, 5);
  stream.set("width", `${length(width)} w`);
  stream.set("cap", `${cap} J`);
  stream.set("join", `${join} j`);
  stream.set("miter", `${written(miter, 4)} M`);
  stream.set("dash", `[${dash.map(length).join(" ")}] ${length(offset)} d`);
};

const setPaint = async (paint: Paint, line: boolean, stream: Stream, pen: Pen): Promise<void> => {
  const { colours, context } = pen;
  const what = line ? "stroke" : "fill";
  if (typeof paint !== "number") {
    const key = JSON.stringify(paint);
    const made = pen.shadings.get(key) ?? shadingOf(paint, colours, context);
    pen.shadings.set(key, made);
    const { pattern } = await made;
    const title = stream.name("Pattern", PREFIXES.Pattern, pattern.toString(), () => pattern);
    stream.set(what, line ? `/Pattern CS ${title} SCN` : `/Pattern cs ${title} scn`);
    return;
  }
  const values = colours.values(paint).map((value) => written(value / 255, 5));
  const own = pen.space;
  const space = own ? `${stream.name("ColorSpace", PREFIXES.ColorSpace, "own", () => own)} ${line ? "CS" : "cs"} ` : "";
  stream.set(what, `${space}${values.join(" ")} ${colours.operators[line ? 1 : 0]}`);
};
