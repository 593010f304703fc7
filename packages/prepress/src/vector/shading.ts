import type { PDFContext, PDFRef } from "../pdf-lib.ts";
import { packed } from "../artwork/pdf/pack.ts";
import type { Colours } from "./colours.ts";
import { type Run, runsOf } from "./runs.ts";
import type { Gradient } from "./shapes.ts";

/** A gradient of a page. */
export interface Shading {
  readonly pattern: PDFRef;
}

/** Makes a gradient's pattern (ISO 32000, 8.7.4): its way from the first run to the last, its colours from a table a run. */
export const shadingOf = async (gradient: Gradient, colours: Colours, context: PDFContext): Promise<Shading> => {
  const runs = runsOf(gradient);
  const domain = [runs[0]?.from ?? 0, runs.at(-1)?.to ?? 1] as const;
  const tables = new Map<string, PDFRef>();
  const functions: PDFRef[] = [];
  for (const run of runs) {
    const key = `${run.steps[0]} ${run.steps.at(-1)}`;
    const table = tables.get(key) ?? (await tableOf(run, colours, context));
    tables.set(key, table);
    functions.push(table);
  }
  const shading = {
    ShadingType: gradient.kind === "linear" ? 2 : 3,
    ColorSpace: await colours.space(context),
    Coords: coordinatesOver(gradient, domain),
    Domain: [...domain],
    Extend: [true, true],
    Function: {
      FunctionType: 3,
      Domain: [...domain],
      Functions: functions,
      Bounds: runs.slice(1).map(({ from }) => from),
      Encode: runs.flatMap(() => [0, 1]),
    },
  };
  const pattern = { Type: "Pattern", PatternType: 2, Matrix: gradient.matrix.map(short), Shading: shading };
  return { pattern: context.register(context.obj(pattern)) };
};

const short = (value: number): number => Number(value.toFixed(8));

const tableOf = async ({ steps }: Run, { channels, values }: Colours, context: PDFContext): Promise<PDFRef> => {
  const data = Uint8Array.from(steps.flatMap((rgb) => [...values(rgb)]));
  const entries = {
    FunctionType: context.obj(0),
    Domain: context.obj([0, 1]),
    Range: context.obj(Array.from({ length: channels }, () => [0, 1]).flat()),
    Size: context.obj([steps.length]),
    BitsPerSample: context.obj(8),
  };
  return context.register(await packed(context, data, entries));
};

/** Where the way begins and ends, given where it stands at 0 and 1. */
const coordinatesOver = ({ kind, coordinates }: Gradient, [from, to]: readonly [number, number]): number[] => {
  const half = coordinates.length / 2;
  const at = (t: number, i: number): number => {
    const [a, b] = [coordinates[i] as number, coordinates[i + half] as number];
    return a + t * (b - a);
  };
  // A circle has no radius below nothing: the point at 0 is where it begins.
  const start = kind === "radial" ? Math.max(0, from) : from;
  return [start, to].flatMap((t) => Array.from({ length: half }, (_, i) => short(at(t, i))));
};
