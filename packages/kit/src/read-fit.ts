import { mm, type Um } from "@kitforme/geometry";
import { jobForm } from "./forms/job-form.ts";
import { readingForm } from "./forms/reading-form.ts";
import { type Answer, hasErrors } from "./problem.ts";
import { readForm } from "./read-form.ts";
import type { Cutter } from "./shop.ts";

/** Places as a camera read them, mm in its own frame. */
export type Reading = readonly { readonly x: number; readonly y: number }[];

/** One sheet of a finished job as far as its cut files can be fitted again. Micrometres. */
export interface MadeSheet {
  readonly sheet: number;
  readonly width: Um;
  readonly height: Um;
  readonly marks: readonly {
    readonly at: { readonly x: Um; readonly y: Um };
    readonly shape: "disc" | "square" | "cross";
    readonly size: Um;
  }[];
  readonly run: number;
  readonly placements: readonly {
    readonly number: number;
    readonly kit: string;
    readonly piece: string;
    readonly serves: readonly { readonly order: string; readonly first: number; readonly last: number }[];
  }[];
  /** Names of the cut files by format. */
  readonly cut: Readonly<Record<string, string>>;
  readonly cutter: Pick<Cutter, "name" | "tools" | "axes">;
}

/** A finished job as its `job.json` gives it, as far as fitting and remaking need it. */
export interface MadeJob {
  readonly job: string;
  readonly sheets: readonly MadeSheet[];
  /** SHA-256 of every file by its name, hexadecimal. */
  readonly hashes: ReadonlyMap<string, string>;
}

/** A camera's reading (marks.json), or every fault of it. Never throws. */
export const readReading = (text: string): Answer<Reading> => {
  const { value, findings } = readForm(readingForm, text, { file: "marks.json" });
  return value ? { value: value.seen.map(([x, y]) => ({ x, y })), findings } : { findings };
};

/** A finished job's job.json by its form, as far as a fit or a remake needs it, or every fault of it. Never throws. */
export const readMadeJob = (text: string): Answer<MadeJob> => {
  const { value, findings } = readForm(jobForm, text, { file: "job.json" });
  // What else stands in job.json is for other readers.
  if (!value) return { findings: findings.filter((f) => hasErrors([f])) };
  const sheets = value.sheets.map(
    ({ sheet, size, run, placements, files, marks, cutter }): MadeSheet => ({
      sheet,
      run,
      placements,
      width: mm(size[0]),
      height: mm(size[1]),
      marks: marks.map(({ at, shape, size: across }) => ({
        at: { x: mm(at[0]), y: mm(at[1]) },
        shape,
        size: mm(across),
      })),
      cut: files.cut,
      cutter: {
        name: cutter.name,
        tools: Object.fromEntries(
          Object.entries(cutter.tools).flatMap(([operation, tool]) => (tool ? [[operation, tool]] : [])),
        ) as Cutter["tools"],
        axes: { ...cutter.axes, offset: [mm(cutter.axes.offset[0]), mm(cutter.axes.offset[1])] },
      },
    }),
  );
  return {
    value: { job: value.job, sheets, hashes: new Map(value.files.map((f) => [f.name, f.sha256])) },
    findings: [],
  };
};
