import { readFile } from "node:fs/promises";
import { join } from "node:path";
import {
  besideFile,
  type Effort,
  type Finding,
  hasErrors,
  type Job,
  type KitStore,
  type Named,
  type PartWriter,
  type SharedStage,
  type Sharing,
  weigh,
} from "@kitforme/run";
import type { OrderText } from "../keys.ts";
import { kitOf, picturesOf, shopOf } from "../places.ts";
import { againInto, type AgainTask } from "./again-into.ts";
import { blame, findingsFor } from "./blame.ts";
import { makeInto, type RunEnd, type RunOptions } from "./print-run.ts";
import { kitsFrozen, kitsOnShare } from "./share.ts";

/** A gang to be made of what was frozen for it; plain data, so that it can cross to a thread. */
export interface MakeTask {
  readonly kind: "make";
  readonly orders: readonly OrderText[];
  readonly out: string;
  readonly shop: string;
  readonly kits: readonly string[];
  readonly effort: Effort;
  readonly into: string;
  /** Sheets in hand at once, where parts are handed over that others may do, and the number of this attempt among all. */
  readonly lanes: number;
  readonly parts: string;
  readonly turn: number;
  readonly gang?: NonNullable<Job["gang"]>;
}

/** Orders to be checked against their frozen kits, and weighed. `shelf` is the live folder of kits, for names that nobody knows. */
export interface WeighTask {
  readonly kind: "weigh";
  readonly orders: readonly OrderText[];
  readonly out: string;
  readonly shop: string;
  readonly kits: readonly string[];
  readonly shelf: string;
}

/** One part of a gang that another process makes, from what it laid into `parts`; written there under the name `part`. */
export interface PartTask {
  readonly kind: "part";
  readonly parts: string;
  readonly stage: SharedStage;
  readonly number: number;
  readonly part: string;
}

export type Task = MakeTask | AgainTask | WeighTask | PartTask;

export interface PartEnd {
  readonly part: string;
}

export interface WeighEnd {
  readonly refused: readonly { readonly order: string; readonly findings: readonly Finding[] }[];
  readonly sheets: Readonly<Record<string, Readonly<Record<string, number>>>>;
}

export type EndOf<T extends Task> = T extends MakeTask | AgainTask ? RunEnd : T extends PartTask ? PartEnd : WeighEnd;

const frozenShop = async (out: string, id: string): Promise<Named> => {
  const file = join(shopOf(out, id), "shop.json");
  return { file: "shop.json", text: await readFile(file, "utf8"), read: besideFile(file) };
};

/** An order as a run takes it, its pictures from the store. */
const namedOrder =
  (out: string) =>
  ({ file, text, pictures }: OrderText): Named => ({
    file,
    text,
    ...(pictures === undefined ? {} : { read: besideFile(join(picturesOf(out, pictures), "order")) }),
  });

/** What a thread has for all of its tasks. */
interface OfThread {
  readonly asking: Omit<Sharing, "folder" | "turn">;
  readonly writer: () => Promise<PartWriter>;
}

export const doTask = async (
  task: Task,
  { asking, writer, ...options }: RunOptions & OfThread,
): Promise<RunEnd | WeighEnd | PartEnd> => {
  switch (task.kind) {
    case "make":
      return makeTask(task, { ...options, sharing: { ...asking, folder: task.parts, turn: task.turn } });
    case "again":
      return againInto(task, {
        ...options,
        lanes: task.lanes,
        sharing: { ...asking, folder: task.parts, turn: task.turn },
      });
    case "weigh":
      return weighTask(task, options);
    case "part":
      await (await writer()).write(task.parts, task.stage, task.number, task.part);
      return { part: task.part };
  }
};

const makeTask = async (task: MakeTask, options: RunOptions): Promise<RunEnd> =>
  makeInto(
    task.into,
    {
      orders: task.orders,
      named: namedOrder(task.out),
      shop: await frozenShop(task.out, task.shop),
      kits: kitsFrozen(task.kits.map((id) => kitOf(task.out, id))),
      effort: task.effort,
    },
    { ...options, lanes: task.lanes, ...(task.gang ? { gang: task.gang } : {}) },
  );

const weighTask = async (task: WeighTask, options: RunOptions): Promise<WeighEnd> => {
  const input = {
    shop: await frozenShop(task.out, task.shop),
    orders: task.orders.map(namedOrder(task.out)),
  };
  const { findings, sheets } = await weigh(input, shelfOver(task), options);
  const blamed = hasErrors(findings) ? blame(task.orders, findings) : [];
  return {
    refused: blamed.map((order) => ({ order: order.name, findings: findingsFor(order, findings) })),
    sheets: Object.fromEntries(sheets),
  };
};

/** The live shelf's names, so that an unknown kit can be told from those there are; the frozen copies wherever one exists. */
const shelfOver = ({ out, kits, shelf }: WeighTask): KitStore => {
  const live = kitsOnShare(shelf);
  const frozen = new Map(kits.map((id) => [id.slice(id.indexOf("/") + 1), kitOf(out, id)]));
  const copies = kitsFrozen([...frozen.values()]);
  return {
    folders: async () => [...new Set([...(await live.folders()), ...frozen.keys()])].sort(),
    read(folder, path) {
      const copy = frozen.get(folder);
      return copy === undefined ? live.read(folder, path) : copies.read(copy, path);
    },
  };
};
