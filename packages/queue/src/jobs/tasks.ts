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
  weigh,
} from "@kitforme/run";
import type { OrderText } from "../keys.ts";
import { kitOf, picturesOf, shopOf } from "../places.ts";
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

export type Task = MakeTask | WeighTask;

export interface WeighEnd {
  readonly refused: readonly { readonly order: string; readonly findings: readonly Finding[] }[];
  readonly sheets: Readonly<Record<string, Readonly<Record<string, number>>>>;
}

export type EndOf<T extends Task> = T extends MakeTask ? RunEnd : WeighEnd;

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

export const doTask = async (task: Task, options: RunOptions): Promise<RunEnd | WeighEnd> =>
  task.kind === "make" ? makeTask(task, options) : weighTask(task, options);

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
    { ...options, ...(task.gang ? { gang: task.gang } : {}) },
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
