import { type Job, type JobSheet, pageOf, sheetName } from "@kitforme/files";
import type { Sheet } from "@kitforme/sheet";
import { dieName, namesOf, type Paper, placeName } from "./names.ts";
import { pair } from "./points.ts";
import { gangElements, productList } from "./products.ts";
import { sheetLayout, sources } from "./sheet-layout.ts";
import { cutBlocks, dieLayout, processes, shapeDef, strokes } from "./steps.ts";
import { type Child, type Element, element, xmlOf } from "./xml.ts";

/** Namespace of XJDF 2, an open standard of CIP4. */
const NAMESPACE = "http://www.CIP4.org/JDFSchema_2_0";

/**
 * The job as an open job ticket (`job.xjdf`, XJDF 2): products and when they are due, papers, sheets with every placed object,
 * steps of printing, creasing, perforating and cutting, amounts. Lengths are points, the origin lower left. It has no clock: the
 * same job is the same bytes, and every name in it comes from the job.
 *
 * Lines that are cut partly through stand in the cut files alone, as their depth is the cutter's; a comment says so.
 */
export const writeTicket = (job: Job): Uint8Array => {
  const names = namesOf(job);
  const sheets = job.sheets.map(({ sheet }) => sheet);
  const paperOf = (sheet: Sheet): string => names.papers.find((p) => p.sheets.includes(sheet))?.id ?? "";
  const dies = job.sheets.filter(({ sheet }) => sheet.cutAs === sheet.sheet);
  const alike = ({ sheet: { cutAs } }: JobSheet): Sheet[] => sheets.filter((s) => s.cutAs === cutAs);
  const printed = job.sheets.flatMap(({ sheet, files }) => (files.print ? [{ sheet, files, print: files.print }] : []));
  const worked = (operation: "creasing" | "perforating", step: string, stroke: string): Element =>
    set(
      step,
      dies.flatMap((die) => {
        if (die.sheet.lines.every((line) => line.operation !== operation)) return [];
        return [() => resource({}, alike(die).map(part), element(step, {}, strokes(die.sheet, operation, stroke)))];
      }),
    );
  return xmlOf(
    element(
      "XJDF",
      { xmlns: NAMESPACE, JobID: job.job, JobPartID: "gang", Types: processes(sheets).join(" "), Version: "2.2" },
      [
        ...aboutRemake(job),
        ...aboutPartial(sheets),
        ...aboutBacks(sheets),
        // A remake makes parts of products that the first job's ticket lists.
        ...(job.remakes ? [] : [productList(job)]),
        set("SheetOptimizingParams", [resource({}, [], gangElements(job, names))]),
        set("Media", names.papers.map(media)),
        set(
          "Layout",
          sheets.map((s) => () => resource({}, [part(s)], sheetLayout(s, paperOf(s), names))),
        ),
        set(
          "NodeInfo",
          sheets.map((s) => () => resource({}, [part(s)], sources(s))),
        ),
        set(
          "BinderySignature",
          sheets.map(
            (s) => () =>
              resource(
                {},
                s.placed.map(({ number }) => element("Part", { BinderySignatureID: placeName(s.sheet, number) })),
                element("BinderySignature", { BinderySignatureType: "Die", DieLayoutRef: dieName(s.cutAs) }),
              ),
          ),
        ),
        set(
          "RunList",
          printed.map(
            ({ sheet, files, print }) =>
              () =>
                resource(
                  {},
                  [part(sheet)],
                  element("RunList", { NPage: sheet.back ? 2 : 1, Pages: pagesOf(sheet, files) }, [
                    element("FileSpec", { URL: print.name }),
                  ]),
                ),
          ),
        ),
        worked("creasing", "CreasingParams", "Crease"),
        worked("perforating", "PerforatingParams", "Perforate"),
        set(
          "CuttingParams",
          sheets.map((s) => () => resource({}, [part(s)], cutBlocks(s))),
        ),
        set(
          "DieLayout",
          dies.map((die) => resource({ ID: dieName(die.sheet.sheet) }, alike(die).map(part), dieLayout(die, names))),
        ),
        set(
          "ShapeDef",
          [...names.shapes.values()].map((shape) =>
            resource({ DescriptiveName: `${shape.piece.kit}/${shape.piece.piece}`, ID: shape.id }, [], shapeDef(shape)),
          ),
        ),
      ].filter((child) => child.name !== "ResourceSet" || child.children.length > 0),
    ),
  );
};

const set = (name: string, resources: readonly Child[]): Element =>
  element("ResourceSet", { Name: name, Usage: "Input" }, resources);

const part = ({ sheet }: Sheet): Element => element("Part", { SheetName: sheetName(sheet) });

const resource = (attributes: Element["attributes"], before: readonly Element[], specific: Element): Element =>
  element("Resource", { ...attributes, Status: "Available" }, [...before, specific]);

/** Its pages in a file of many sheets, from 0 as in every list of pages of the format; a file of its own needs none named. */
const pagesOf = ({ back }: Sheet, files: JobSheet["files"]): string | undefined => {
  if (files.whole?.file !== files.print) return undefined;
  const first = pageOf(files) - 1;
  return back ? `${first} ${first + 1}` : String(first);
};

/** A paper, and how many of it each sheet of the job takes. The shop does not say more of it than this. */
const media = ({ id, sheets }: Paper): Element => {
  const [{ stock, width, height } = sheets[0] as Sheet] = sheets;
  const alongX = (stock.grain === "long") === width > height;
  return resource(
    { DescriptiveName: stock.title, ExternalID: stock.stock, ID: id },
    [
      element(
        "AmountPool",
        {},
        sheets.map((s) => element("PartAmount", { Amount: s.run }, [part(s)])),
      ),
    ],
    element("Media", {
      Dimension: pair(width, height),
      GrainDirection: stock.grain ? (alongX ? "XDirection" : "YDirection") : undefined,
      MediaType: "Paper",
      MediaUnit: "Sheet",
      // Micrometres.
      Thickness: stock.caliper,
    }),
  );
};

const comment = (text: string): Element => ({ ...element("Comment"), text });

const aboutRemake = ({ remakes }: Job): Element[] =>
  remakes ? [comment(`Spoiled pieces of job ${remakes.job}, made anew: ${remakes.spoiled.join(", ")}.`)] : [];

/** What the steps leave out, in words. */
const aboutPartial = (sheets: readonly Sheet[]): Element[] => {
  const some = sheets.filter(({ lines }) => lines.some(({ operation }) => operation === "partialCutting"));
  if (some.length === 0) return [];
  const text = `Lines that are cut partly through stand in the cut files alone: ${some.map(({ sheet }) => sheetName(sheet)).join(", ")}.`;
  return [comment(text)];
};

/** Over which edge sheets with a back are turned: a work style says only that both sides are printed. */
const aboutBacks = (sheets: readonly Sheet[]): Element[] =>
  (["long", "short"] as const).flatMap((edge) => {
    const turned = sheets.filter(({ back, width, height }) => {
      if (!back) return false;
      // The edges that stand upright lie on each other where left and right change places.
      const upright = back.matrix[0] < 0;
      return (upright === height >= width ? "long" : "short") === edge;
    });
    if (turned.length === 0) return [];
    return [
      comment(`Turned over the ${edge} edge for the back: ${turned.map(({ sheet }) => sheetName(sheet)).join(", ")}.`),
    ];
  });
