// Parts of a job done by somebody else than the one who makes it. A sheet: its files and what the manifest says of them, in one file.
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { deserialize, serialize } from "node:v8";
import {
  CutBodies,
  drawingHere,
  type DrawingThreads,
  jobFile,
  type JobSheet,
  PackedPictures,
  ProofLayers,
  References,
} from "@kitforme/files";
import { layWhole } from "../lay-whole.ts";
import { sealed, unsealed } from "../sealed.ts";
import { type Writing, writeSheet } from "../write-sheet.ts";
import { type OpenedPlan, openPlan } from "./plan.ts";
import type { Openers } from "../outside/openers.ts";
import { layOutLent } from "./lend-layouts.ts";
import { prepareLent } from "./lend-pieces.ts";
import type { PartWriter, SharedStage } from "./sharing.ts";

/** What was written of one sheet. */
export interface Part {
  readonly files: readonly (readonly [name: string, bytes: Uint8Array])[];
  readonly written: Omit<JobSheet, "sheet">;
}

interface Kept {
  readonly folder: string;
  readonly plan: OpenedPlan;
  readonly drawing: DrawingThreads;
  readonly writing: Writing;
}

/** See `partWriter` of the front door. */
export class Parts implements PartWriter {
  readonly #openers: Openers;
  #kept: Kept | undefined;

  constructor(openers: Openers) {
    this.#openers = openers;
  }

  async write(folder: string, stage: SharedStage, number: number, name: string): Promise<void> {
    switch (stage) {
      case "piece":
        return this.#openers.during(() => prepareLent(folder, number, name, this.#openers));
      case "layout":
        return layOutLent(folder, number, name);
      case "sheet":
        return this.#writeSheet(folder, number, name);
    }
  }

  async #writeSheet(folder: string, sheet: number, name: string): Promise<void> {
    const { plan, drawing, writing } = await this.#planIn(folder);
    const files: [string, Uint8Array][] = [];
    const put = (file: string, bytes: Uint8Array) => {
      files.push([file, bytes]);
      return Promise.resolve(jobFile(file, bytes));
    };
    const { sheet: _sheet, ...written } = await writeSheet(await plan.sheet(sheet), plan.job, put, drawing, writing);
    await layWhole(join(folder, name), sealed(serialize({ files, written } satisfies Part)));
  }

  async #planIn(folder: string): Promise<Kept> {
    if (this.#kept?.folder === folder) return this.#kept;
    this.#kept = undefined;
    const plan = await openPlan(folder);
    const pictures = new PackedPictures();
    const alike = new Set(plan.alike);
    const layers = new ProofLayers(alike, pictures);
    const references = new References(undefined, alike);
    const writing = { pictures, references, bodies: new CutBodies(), layers, level: plan.proof };
    this.#kept = { folder, plan, drawing: drawingHere(), writing };
    return this.#kept;
  }
}

/** Reads a part; undefined when it is not there or not whole. */
export const readPart = async (folder: string, name: string): Promise<Part | undefined> => {
  const bytes = await readFile(join(folder, name)).catch(() => undefined);
  const body = bytes && unsealed(bytes);
  return body && (deserialize(body) as Part);
};
