import { setTimeout as wait } from "node:timers/promises";
import type { JobSheet } from "@kitforme/files";
import { checkpoint, type Watch } from "../watch.ts";
import { readPart } from "./part.ts";
import { layPlan, type SheetPlan } from "./plan.ts";
import type { Sharing } from "./sharing.ts";

/** Milliseconds between two looks at what others still write. */
const PAUSE = 60;

/** Sheets in hand at once where nothing else is said: one is written, one is drawn, one goes onto the disk. */
const LANES = 3;

/** How sheets are written. */
export interface Spread {
  /** Sheets in hand here at once. Default 3. */
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
  const done = new Map<number, JobSheet>();
  /** Not begun here; once some are offered, those of them that nobody else can do. */
  const own = [...sheets.keys()];
  let offering: Promise<void> | undefined;
  let failed = false;
  const offer = async (to: Sharing): Promise<void> => {
    const rest = own.splice(0);
    await layPlan(to.folder, plan, new Set(rest));
    await to.offer(rest);
  };
  const next = async (): Promise<number | undefined> => {
    if (sharing && !offering && own.length > 1 && (await sharing.wanted())) offering ??= offer(sharing);
    await offering;
    const mine = own.shift();
    if (mine !== undefined || !sharing || !offering) return mine;
    const taken = await sharing.take();
    for (const { sheet, part } of taken.written) await adopt(sharing, sheet, part);
    return taken.sheet;
  };
  const adopt = async ({ folder }: Sharing, number: number, name: string): Promise<void> => {
    const sheet = sheets.get(number);
    if (!sheet || done.has(number)) return;
    const part = await readPart(folder, name);
    if (!part) return void own.push(number);
    for (const [file, bytes] of part.files) await put(file, bytes);
    done.set(number, { sheet, ...part.written });
  };
  const lane = async (): Promise<void> => {
    while (!failed && done.size < sheets.size) {
      const number = await next();
      if (number === undefined) {
        if (!offering) return;
        watch.signal?.throwIfAborted();
        if (done.size < sheets.size) await wait(PAUSE);
        continue;
      }
      const sheet = sheets.get(number);
      if (!sheet || done.has(number)) continue;
      await checkpoint(watch, { phase: "write", done: done.size, of: sheets.size, what: `sheet ${number}` });
      done.set(number, await here(sheet));
    }
  };
  const ended = await Promise.allSettled(
    Array.from({ length: Math.min(lanes, sheets.size) }, () =>
      lane().catch((error: unknown) => {
        failed = true;
        throw error;
      }),
    ),
  );
  const fault = ended.find((end) => end.status === "rejected");
  if (fault) throw fault.reason;
  return [...sheets.keys()].map((number) => done.get(number) as JobSheet);
};
