import { type Finding, readShop } from "@kitforme/kit";
import { JobName } from "./job-name.ts";
import { articlesOf } from "./demands-of.ts";
import { prepareAll, preparePieces } from "./prepare-all.ts";
import { faultsOfSheets, inFile, type Input, type Named, readAll, readKitAt } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import type { Watch } from "./watch.ts";
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
  const findings: Finding[] = [...inFile(answer.findings, shop.file), ...faultsOfSheets(answer.value)];
  for (const folder of await kits.folders()) {
    const kit = await readKitAt(folder, kits, answer.value, new JobName());
    findings.push(...kit.findings);
    if (kit.value && answer.value)
      findings.push(...(await preparePieces(kit.value.pieces, answer.value, watch)).flatMap((p) => p.findings));
  }
  return sortFindings(findings);
};
