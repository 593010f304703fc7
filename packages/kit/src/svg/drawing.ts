// A drawing to its lines and its artwork: parse, refuse, cascade, size, select, walk, prune. Each step is a file beside this.
import { apply, type Matrix, mm, type Path, type Rect, type Um, UM_PER_MM } from "@kitforme/geometry";
import type { Element } from "domhandler";
import { type DrawnAs, OPERATIONS, type Operation, type PlacedText } from "../kit.ts";
import type { Ledger } from "../ledger.ts";
import { placeOf } from "../numbers.ts";
import { drawingText } from "../read-drawing-text.ts";
import { withinBudget } from "./budget.ts";
import { cascade, type Styles } from "./cascade.ts";
import { checkNames, Names } from "./check-names.ts";
import { checkValues, Colours } from "./check-values.ts";
import { clipShapes, hasClipShape, type ShapeClipped } from "./clip-shapes.ts";
import { type Contents, contentsOf, millimetres, type PlacedImage, strokesWithin } from "./contents.ts";
import { paintedLines, thinStrokes } from "./drawn-as.ts";
import { linesOf } from "./line-of.ts";
import { paintsIn } from "./paints.ts";
import { LONGEST_DRAWING, nameOf, parseSvg, walkElements } from "./parse.ts";
import { DEEPEST_NESTING, embedPictures, type NamedFile, type NamedFiles } from "./pictures.ts";
import { giveSize, type Nested, standsInPlace } from "./nested.ts";
import { plainValues } from "./plain-values.ts";
import { prune, type Pruned, settleSwitches } from "./prune.ts";
import { CLIPPING, type Ids, idsOf, targetOf } from "./references.ts";
import { refuse } from "./refuse.ts";
import { refuseFlowed } from "./refuse-flowed.ts";
import { selecting } from "./select.ts";
import { sizeOf } from "./size.ts";
import type { Measure } from "./units.ts";
import { type Drawn, drawnLines, type Placed } from "./walk.ts";
import { showsIn } from "./window.ts";
import { writeArtwork } from "./write.ts";

/** A line as drawn, before ends are joined. */
export interface Stroke {
  readonly operation: Operation;
  readonly closed: boolean;
  readonly points: Path<"drawing">;
}

/** What of a drawing is printed on one side. */
export interface DrawnArtwork extends Contents {
  /** The artwork as an SVG document that shows the given part of the drawing; null when nothing is left to print. */
  readonly artwork: ((box: Rect, prefix?: string) => string) | null;
}

export interface Drawing extends DrawnArtwork {
  readonly width: Um;
  readonly height: Um;
  readonly strokes: readonly Stroke[];
  /** What each selector of `shapes` finds; their operation means nothing. */
  readonly shapes: ReadonlyMap<string, readonly Stroke[]>;
  readonly drawnAs: DrawnAs;
  /** Elements, with those of the drawings in it. */
  readonly elements: number;
  /** Where `back` was asked for. */
  readonly back?: DrawnArtwork;
}

export interface DrawingRequest {
  /** Selectors of shapes that are no lines: frames of pictures. */
  readonly shapes?: readonly string[];
  /** The SVG text. */
  readonly text: string;
  readonly lines: Partial<Readonly<Record<Operation, string>>>;
  /** A selector; `undefined`: all that is no line; `null`: the drawing is not asked for artwork. */
  readonly artwork: string | undefined | null;
  /** A selector of what the reverse prints; the front's artwork is without it unless it is asked for by name. */
  readonly back?: string | undefined;
  /** `size` of kit.json in millimetres. */
  readonly size: readonly [number, number] | undefined;
  /** Millimetres for a drawing that has no size of its own, without a word. */
  readonly sizeless?: readonly [number, number] | "viewBox";
  /** Pictures and drawings of the kit that the drawing names. */
  readonly files?: NamedFiles;
  /** `"fit"`: a drawing of another size but the same proportions is scaled to `size`. */
  readonly scale?: "fit" | undefined;
}

/** Points of all lines of one drawing. */
const MOST_POINTS = 2_000_000;
/** How far a line may reach out of a nested viewport or a clip before it counts as clipped. */
const SLACK: Um = 50;

const found = (
  selector: string,
  root: Element,
  select: ReturnType<typeof selecting>,
  report: Ledger,
  operation?: Operation,
): Element[] => {
  const where = operation ? { operation } : {};
  const answer = select.find(selector, root);
  if ("why" in answer) {
    report.say("selector-bad", { selector, why: answer.why }, where);
    return [];
  }
  if (answer.elements.length === 0) {
    const near = [...walkElements(root)].flatMap((e) => (e.attribs["id"] ? [`#${e.attribs["id"]}`] : [])).slice(0, 12);
    report.say("selector-finds-nothing", { selector, near }, where);
  }
  return answer.elements;
};

/** What each operation's selector finds; an element that two operations claim is reported. */
const selectLines = (request: DrawingRequest, root: Element, select: ReturnType<typeof selecting>, report: Ledger) => {
  const selected = new Map<Element, Operation>();
  const counts = new Map<Operation, number>();
  const clips = new Set(
    [...walkElements(root)].filter((e) => CLIPPING.has(e.name)).flatMap((e) => [...walkElements(e)]),
  );
  for (const operation of OPERATIONS) {
    const selector = request.lines[operation];
    if (selector === undefined) continue;
    const elements = found(selector, root, select, report, operation).filter((e) => !clips.has(e));
    counts.set(operation, elements.length);
    for (const element of elements) {
      const other = selected.get(element);
      if (other) report.say("line-two-operations", { element: nameOf(element), operations: [other, operation] });
      selected.set(element, operation);
    }
  }
  return { selected, counts };
};

/** Drawn shapes to strokes. Told: what cannot be read, what a viewport cuts off, and operations that draw nothing. */
const strokesOf = (drawn: readonly Drawn[], report: Ledger): Stroke[] => {
  const strokes: Stroke[] = [];
  let left = MOST_POINTS;
  for (const { operation, element, data, matrix, windows } of drawn) {
    const where = { operation };
    const read = linesOf(data, matrix);
    if ("why" in read) {
      const attribute = element.name === "path" ? "d" : element.name.startsWith("poly") ? "points" : "shape";
      report.say(
        "value-unreadable",
        { element: nameOf(element), attribute, value: data.slice(0, 200), why: read.why },
        where,
      );
      continue;
    }
    for (const { closed, points } of read.lines) {
      left -= points.length;
      if (left < 0) {
        report.say("drawing-too-large", { what: "points on its lines", most: MOST_POINTS });
        return strokes;
      }
      const cut = windows.find((w) => points.some((p) => !showsIn(w, p.x, p.y, SLACK)));
      if (cut) {
        const p = points.find((q) => !showsIn(cut, q.x, q.y, SLACK));
        report.say(
          "line-clipped",
          { element: nameOf(element), by: cut.name },
          { ...where, ...(p ? { at: placeOf(p) } : {}) },
        );
      } else strokes.push({ operation, closed, points });
    }
  }
  return strokes;
};

/** The root's size a thousandfold, its view the same: renderers round the size of a drawing in a drawing to whole pixels. */
const enlarged = (svg: string): string =>
  svg.replace(
    /^(<svg [^>]*?\bwidth=)"([^"]*)" height="([^"]*)"/,
    (_, head: string, width: string, height: string) =>
      `${head}"${Number(width) * 1000}" height="${Number(height) * 1000}"`,
  );

/** Pictures that are judged. */
const MOST_PICTURES = 1000;

const artworkOf = (
  selector: string,
  root: Element,
  ids: Ids,
  styles: Styles,
  lines: ReadonlySet<Element>,
  kept: ReadonlySet<Element> | undefined,
  report: Ledger,
) => {
  const pruned = prune({ root, ids, lines, kept });
  const [names, colours] = [new Names(), new Colours()];
  for (const element of walkElements(pruned.root)) {
    const source = pruned.source.get(element);
    if (!source) continue;
    checkNames(element, source, styles, names, report);
    checkValues(element, source, { styles, ids, colours }, report);
  }
  const prunedIds = idsOf(pruned.root);
  const { paints } = paintsIn(
    pruned.root,
    (element, property) => {
      const source = pruned.source.get(element);
      return source ? styles.own(source, property) : undefined;
    },
    (use) => targetOf(use, prunedIds),
  );
  if (!paints) {
    if (kept && kept.size > 0) report.say("artwork-empty", { selector });
    return null;
  }
  const fixed = [...walkElements(root)].find((e) => /non-scaling/.test(styles.own(e, "vector-effect") ?? ""));
  if (fixed) report.say("stroke-not-scaling", { element: nameOf(fixed) });
  return pruned;
};

/** How deep in other drawings a drawing is, and how many characters drawings in drawings may still take together. */
interface Within {
  readonly depth: number;
  readonly budget: { left: number };
}

/**
 * Reads a drawing: SVG 1.1 static shapes under CSS, transforms, units and viewports. Everything that is refused or cannot be
 * read is told, all at once; then the drawing is undefined. Never throws for what is in the text.
 */
export const readDrawing = (
  request: DrawingRequest,
  report: Ledger,
  within: Within = { depth: 0, budget: { left: LONGEST_DRAWING } },
): Drawing | undefined => {
  if (request.text.length > LONGEST_DRAWING) {
    report.say("drawing-too-large", { what: "characters", most: LONGEST_DRAWING });
    return undefined;
  }
  const root = parseSvg(request.text, report);
  if (!root) return undefined;
  const declared = cascade(root, report);
  settleSwitches(root);
  const ids = idsOf(root);
  const plain = plainValues(root, declared, ids, report);
  const nested = new Map<Element, Nested>();
  const nest = ({ bytes, files }: NamedFile, name: string, element: Element): string | undefined => {
    if (within.depth >= DEEPEST_NESTING) {
      report.say("drawing-too-large", { what: "drawings in one another", most: DEEPEST_NESTING });
      return undefined;
    }
    const text = drawingText(bytes, report);
    if (text === undefined) return undefined;
    within.budget.left -= text.length;
    if (within.budget.left < 0) {
      report.say("drawing-too-large", { what: "characters in the drawings it places", most: LONGEST_DRAWING });
      return undefined;
    }
    const inner = readDrawing(
      { text, lines: {}, artwork: undefined, size: undefined, sizeless: "viewBox", files },
      /^<(image|feImage)/.test(name)
        ? report
        : { ...report, say: (rule, facts, more) => report.say(rule, facts, { file: name, ...more }) },
      { ...within, depth: within.depth + 1 },
    );
    if (!inner?.artwork) return undefined;
    const { artwork, width, height, drawnAs } = inner;
    giveSize(element, plain, inner);
    const box: Rect = { x: 0, y: 0, width, height };
    if (standsInPlace(element, plain, ids)) {
      nested.set(element, { ...inner, strokes: drawnAs.strokes, write: (prefix) => artwork(box, prefix) });
      return undefined;
    }
    if (inner.texts.length > 0) report.say("text-in-picture", { name });
    return enlarged(artwork(box));
  };
  const pixels = embedPictures(root, { files: request.files ?? new Map(), nest }, report);
  refuse(root, plain, report);
  refuseFlowed(root, plain, report);
  const size = sizeOf(
    root,
    (property) => plain.own(root, property),
    request.size,
    request.sizeless,
    report,
    request.scale,
  );
  if (!withinBudget(root, ids, report, (element) => nested.get(element)?.elements ?? 0)) return undefined;
  if (plain.own(root, "transform") !== undefined)
    report.say("css-refused", { element: "<svg>", property: "transform" });
  const select = selecting([...walkElements(root)].length);
  const { selected, counts } = selectLines(request, root, select, report);
  const kept = typeof request.artwork === "string" ? new Set(found(request.artwork, root, select, report)) : undefined;
  if (!size) return undefined;
  const scale = UM_PER_MM;
  const [a, b, c, d, e, f] = size.matrix;
  const matrix = [a * scale, b * scale, c * scale, d * scale, e * scale, f * scale] as const;
  const placed: PlacedImage[] = [];
  const onPicture = (element: Element, m: Matrix, place: Placed): void => {
    if ((pixels.has(element) || nested.has(element)) && placed.length < MOST_PICTURES)
      placed.push({ element, matrix: m, place });
  };
  const texts = new Map<Element, Omit<PlacedText, "name">>();
  const onText = (element: Element, m: Matrix, x: number, y: number): void => {
    const over = m[0] * m[3] - m[1] * m[2] < 0;
    if (!texts.has(element))
      texts.set(element, { at: millimetres(apply(m, x, y)), ...(over ? { mirrored: true } : {}) });
  };
  const clipped: ShapeClipped[] = [];
  const onElement = (element: Element, measure: Measure): void => {
    if (hasClipShape(element, plain)) clipped.push({ element, measure });
  };
  const walk = { root, ids, styles: plain, selected, report };
  const drawn = drawnLines({ ...walk, onPicture, onText, onElement }, matrix, size.box);
  const styles = clipShapes(walk, clipped);
  // A line that lost its name is not cut.
  const names = new Names();
  for (const element of selected.keys())
    for (const one of walkElements(element)) checkNames(one, one, plain, names, report);
  const strokes = strokesOf(drawn, report);
  const judged = new Set(
    report.findings().flatMap((one) => (one.level === "error" && one.where.operation ? [one.where.operation] : [])),
  );
  for (const [operation, elements] of counts)
    if (elements > 0 && !judged.has(operation) && !strokes.some((s) => s.operation === operation))
      report.say("lines-empty", { selector: request.lines[operation] ?? "", elements }, { operation });
  const lines = new Set(selected.keys());
  const behind = request.back === undefined ? undefined : new Set(found(request.back, root, select, report));
  // What is the back's is not the front's unless it was asked for.
  const left = behind && !kept ? new Set([...lines, ...behind]) : lines;
  const pruned =
    request.artwork === null ? null : artworkOf(request.artwork ?? "", root, ids, styles, left, kept, report);
  const artworkIn = (one: Pruned | null): DrawnArtwork =>
    one
      ? {
          artwork: (box, prefix = "") => writeArtwork(one, styles, size, box, { nested, prefix }),
          ...contentsOf(one, { pixels, nested, placed, texts }),
        }
      : { artwork: null, pictures: [], texts: [], embedded: 0 };
  return {
    width: mm(size.width),
    height: mm(size.height),
    strokes,
    shapes: new Map(
      (request.shapes ?? []).map((selector) => {
        const framed = new Map(found(selector, root, select, report).map((element) => [element, "cutting"] as const));
        return [
          selector,
          strokesOf(drawnLines({ root, ids, styles, selected: framed, report }, matrix, size.box), report),
        ];
      }),
    ),
    ...artworkIn(pruned),
    elements: [...walkElements(root)].reduce((sum, element) => sum + 1 + (nested.get(element)?.elements ?? 0), 0),
    ...(behind ? { back: artworkIn(artworkOf(request.back ?? "", root, ids, styles, lines, behind, report)) } : {}),
    drawnAs: {
      ...paintedLines(drawn, styles),
      strokes: pruned
        ? [
            ...thinStrokes({ root, ids, styles }, left, kept, matrix, size.box),
            ...strokesWithin(pruned, nested, placed),
          ]
        : [],
    },
  };
};
