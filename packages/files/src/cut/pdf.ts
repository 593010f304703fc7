import { fitArcs, type Point } from "@kitforme/geometry";
import { OPERATIONS, type Operation } from "@kitforme/kit";
import type { ToolPath } from "@kitforme/sheet";
import { PDFContext, PDFHexString, PDFName, type PDFObject, PDFString } from "../pdf-lib.ts";
import type { CutBodies } from "./bodies.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { markPath, pt } from "../pdf/content.ts";
import { identify, serialise } from "../pdf/identify.ts";
import { packed, packedStream } from "../pdf/image.ts";
import { identityOf } from "./identity.ts";

interface Step {
  /** Group and type of ISO 19593-1, clause 6.2: names in the layer's own GTS_Metadata. */
  readonly type: string;
  /** How a screen shows the ink: C M Y K. Machines go by layer and ink name. */
  readonly shown: readonly [number, number, number, number];
}

const STEPS: Readonly<Record<Operation, Step>> = {
  creasing: { type: "Creasing", shown: [0.85, 0.3, 0.3, 0.1] },
  perforating: { type: "Perforating", shown: [0.6, 0.2, 1, 0.1] },
  partialCutting: { type: "PartialCutting", shown: [0.6, 0.7, 0, 0.05] },
  cutting: { type: "Cutting", shown: [0.1, 0.8, 0.9, 0.1] },
};

/** Points: lines that are seen at every magnification, and wide enough that no viewer drops them (0.25 pt, common practice). */
const WIDTH = 0.25;

/**
 * The cut file as PDF: one page of the sheet's size, one layer per operation in working order, each an ink of its own that
 * overprints, marked as a processing step by the metadata of ISO 19593-1 (group Structural), and a layer with the marks.
 * Nothing of it prints on a process plate. Built to the public descriptions of the standard, not certified.
 */
export const writeCutPdf = async (sheet: CutSheet, bodies: CutBodies): Promise<Uint8Array> => {
  const context = PDFContext.create();
  const used = OPERATIONS.filter((o) => sheet.paths.some((p) => p.operation === o));
  const layers = used.map((o) =>
    context.register(
      context.obj({
        Type: "OCG",
        Name: PDFString.of(STEPS[o].type),
        GTS_Metadata: { GTS_ProcStepsGroup: "Structural", GTS_ProcStepsType: STEPS[o].type },
      }),
    ),
  );
  // Marks are no processing step: they are what the camera looks for, shown so that the file can be laid over the print.
  const marks = context.register(context.obj({ Type: "OCG", Name: PDFString.of("Registration") }));
  const all = [...layers, marks];

  const box = context.obj([0, 0, Number(pt(sheet.width)), Number(pt(sheet.height))]);
  const spaces = used.map((o): [string, PDFObject] => {
    const tint = context.obj({ FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [...STEPS[o].shown], N: 1 });
    return [`S${used.indexOf(o) + 1}`, context.obj(["Separation", STEPS[o].type, "DeviceCMYK", tint].map(named))];
  });
  const pageRef = context.nextRef();
  const tree = context.register(context.obj({ Type: "Pages", Kids: [pageRef], Count: 1 }));
  context.assign(
    pageRef,
    context.obj({
      Type: "Page",
      Parent: tree,
      ...Object.fromEntries(["MediaBox", "CropBox", "BleedBox", "TrimBox"].map((name) => [name, box])),
      Resources: {
        ColorSpace: Object.fromEntries(spaces),
        ExtGState: { Over: { Type: "ExtGState", OP: true, op: true, OPM: 1 } },
        Properties: { ...Object.fromEntries(layers.map((ref, i) => [`L${i + 1}`, ref])), Marks: marks },
      },
      Contents: context.register(
        packedStream(context, await bodies.of(sheet, "pdf", () => packed(programOf(sheet, used)))),
      ),
    }),
  );
  const { info, metadata } = identify(context, `${identityOf(sheet)}: cut`, false);
  context.trailerInfo.Info = info;
  context.trailerInfo.Root = context.register(
    context.obj({
      Type: "Catalog",
      Pages: tree,
      Metadata: metadata,
      OCProperties: {
        OCGs: all,
        D: { Name: PDFHexString.fromText("Operations"), BaseState: "ON", Order: all },
      },
    }),
  );
  return serialise(context);
};

/** What is drawn, layer by layer. */
const programOf = (sheet: CutSheet, used: readonly Operation[]): Uint8Array => {
  const program = used.flatMap((operation, i) => [
    `/OC /L${i + 1} BDC q /Over gs /S${i + 1} CS 1 SCN ${WIDTH} w 1 j 1 J`,
    ...sheet.paths.filter((p) => p.operation === operation).map((path) => `${operatorsOf(path)} S`),
    "Q EMC",
  ]);
  program.push("/OC /Marks BDC q 0 0 0 1 k", ...sheet.marks.flatMap((mark) => [markPath(mark), "f"]), "Q EMC");
  return Buffer.from(program.join("\n"), "latin1");
};

const named = (value: string | PDFObject): PDFObject => (typeof value === "string" ? PDFName.of(value) : value);

/** A path with its arcs as cubics: up to a third of a turn in two, off by less than a micrometre at a radius of 100 mm. */
const operatorsOf = ({ points, closed }: ToolPath): string => {
  const { from, segments } = fitArcs(points, closed);
  const parts = [`${pt(from.x)} ${pt(from.y)} m`];
  let at: Point = from;
  for (const s of segments) {
    if (s.kind === "line") parts.push(`${pt(s.to.x)} ${pt(s.to.y)} l`);
    else parts.push(...cubics(at, s));
    at = s.to;
  }
  if (closed) parts.push("h");
  return parts.join(" ");
};

/** Largest angle that one cubic stands for: the error grows with the sixth power of it. */
const MOST_ANGLE = Math.PI / 6;

const cubics = (
  start: Point,
  arc: Extract<ReturnType<typeof fitArcs>["segments"][number], { readonly kind: "arc" }>,
): string[] => {
  const { centre, radius, sweep, to } = arc;
  const count = Math.max(1, Math.ceil(Math.abs(sweep) / MOST_ANGLE));
  const step = sweep / count;
  const handle = (4 / 3) * Math.tan(step / 4);
  const first = Math.atan2(start.y - centre.y, start.x - centre.x);
  return Array.from({ length: count }, (_, i) => {
    const [a, b] = [first + i * step, first + (i + 1) * step];
    const p = i === 0 ? start : { x: centre.x + radius * Math.cos(a), y: centre.y + radius * Math.sin(a) };
    const q = i === count - 1 ? to : { x: centre.x + radius * Math.cos(b), y: centre.y + radius * Math.sin(b) };
    const c = { x: p.x - handle * radius * Math.sin(a), y: p.y + handle * radius * Math.cos(a) };
    const d = { x: q.x + handle * radius * Math.sin(b), y: q.y - handle * radius * Math.cos(b) };
    return `${[c.x, c.y, d.x, d.y, q.x, q.y].map(pt).join(" ")} c`;
  });
};
