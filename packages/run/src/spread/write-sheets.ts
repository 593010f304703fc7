import { availableParallelism } from "node:os";
import type { JobSheet } from "@kitforme/files";
import type { Watch } from "../watch.ts";
import { readPart } from "./part.ts";
import { layPlan, type SheetPlan } from "./plan.ts";
import { shareOut } from "./share-out.ts";
import type { Sharing } from "./sharing.ts";

/**
 * Sheets in hand at once where nothing else is said: one is written, one is drawn, one goes onto the disk. On two processors two are
 * worked at anyway, and a third only takes memory.
 */
const LANES = availableParallelism() < 3 ? 2 : 3;

/** How the parts of a job are done. */
export interface Spread {
  /** Sheets in hand here at once. Default 3, on fewer than three processors 2. */
  readonly lanes?: number | undefined;
  readonly sharing?: Sharing | undefined;
}

/**
 * Writes the sheets of a job, some at a time so that no more are in memory, by itself or together with others.
 * @param here writes one here
 * @param put lays a file of a sheet that another has written
 * @returns in the order of the sheets
 */
export const writeSheets = async (
  plan: SheetPlan,
  { lanes = LANES, sharing }: Spread,
  here: (sheet: SheetPlan["sheets"][number]) => Promise<JobSheet>,
  put: (name: string, bytes: Uint8Array) => Promise<unknown>,
  watch: Watch,
): Promise<JobSheet[]> => {
  const sheets = new Map(plan.sheets.map((sheet) => [sheet.sheet, sheet]));
  const sheetOf = (number: number) => {
    const sheet = sheets.get(number);
    if (!sheet) throw new Error(`sheet ${number} is none of the job's`);
    return sheet;
  };
  const done = await shareOut<JobSheet>(
    {
      stage: "sheet",
      numbers: [...sheets.keys()],
      lanes,
      here: (number) => here(sheetOf(number)),
      async lay(folder, numbers) {
        await layPlan(folder, plan, new Set(numbers));
        return numbers;
      },
      async adopt(folder, number, name) {
        const part = await readPart(folder, name);
        if (!part) return undefined;
        for (const [file, bytes] of part.files) await put(file, bytes);
        return { sheet: sheetOf(number), ...part.written };
      },
      progress: (ready, number) => ({ phase: "write", done: ready, of: sheets.size, what: `sheet ${number}` }),
    },
    sharing,
    watch,
  );
  return [...sheets.keys()].map((number) => done.get(number) as JobSheet);
};
