import type { Finding, Kit, Shop } from "@kitforme/kit";
import { readShop } from "@kitforme/kit";
import { prepare } from "@kitforme/prepress";
import { JobName } from "./job-name.ts";
import { articlesOf } from "./demands-of.ts";
import { prepareAll } from "./prepare-all.ts";
import { faultsOfSheets, type Input, type Named, readAll, readKitAt } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import { checkpoint, type Watch } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** Every finding about orders and the kits they name, pictures and texts included; nothing is laid out or written. */
export const checkOrders = async (input: Input, kits: KitStore, watch: Watch = {}): Promise<readonly Finding[]> => {
  const read = await readAll(input, kits, { effort: "none" }, watch);
  if (!read.value) return sortFindings(read.findings);
  const ready = await prepareAll(articlesOf(read.value.orders, read.value.kits), read.value.shop, watch);
  return sortFindings([...read.findings, ...ready.findings]);
};

/** Every finding about the kits of a store, pictures included. */
export const checkKits = async (shop: Named, kits: KitStore, watch: Watch = {}): Promise<readonly Finding[]> => {
  const answer = readShop(shop.text);
  const findings: Finding[] = answer.findings.map((f) => ({ ...f, where: { ...f.where, file: shop.file } }));
  findings.push(...faultsOfSheets(answer.value));
  for (const folder of await kits.folders()) {
    const kit = await readKitAt(folder, kits, answer.value, new JobName());
    findings.push(...kit.findings);
    if (kit.value && answer.value) findings.push(...(await piecesOf(kit.value, answer.value, watch)));
  }
  return sortFindings(findings);
};

const piecesOf = async (kit: Kit, shop: Shop, watch: Watch): Promise<Finding[]> => {
  const findings: Finding[] = [];
  for (const [i, piece] of kit.pieces.entries()) {
    await checkpoint(watch, { phase: "prepare", done: i, of: kit.pieces.length, what: `${kit.kit}/${piece.piece}` });
    findings.push(...(await prepare(piece, shop.stocks[piece.stock]?.press ?? null)).findings);
  }
  return findings;
};
