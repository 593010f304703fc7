import { stat } from "node:fs/promises";
import { checkKits, checkOrders, type Finding, hasErrors, kitsAt, kitsIn } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { countInWords, findingsInWords } from "../words.ts";
import { readInput } from "./make.ts";

export interface CheckOptions {
  readonly shop: string;
  readonly kits?: string;
}

/** Findings about kits and orders; nothing is made. Orders are held against `--kits`, else against the kit folders named beside them. */
export const check = async (paths: readonly string[], options: CheckOptions, outlet: Outlet): Promise<number> => {
  const folders: string[] = [];
  const orders: string[] = [];
  for (const path of paths)
    if (
      await stat(path).then(
        (s) => s.isDirectory(),
        () => false,
      )
    )
      folders.push(path);
    else orders.push(path);
  const findings: Finding[] = [];
  const shown = showProgress(outlet);
  const shop = await readNamed(options.shop, "the shop's file");
  if ("finding" in shop) findings.push(shop.finding);
  else if (folders.length > 0)
    findings.push(...(await checkKits({ file: options.shop, text: shop.text }, kitsAt(folders), shown)));
  if (orders.length > 0) {
    const input = await readInput(options.shop, orders);
    if ("findings" in input) findings.push(...input.findings);
    else findings.push(...(await checkOrders(input, options.kits ? kitsIn(options.kits) : kitsAt(folders), shown)));
  }
  shown.stop();
  const distinct = [...new Map(findings.map((f) => [JSON.stringify(f), f])).values()];
  for (const finding of distinct) outlet.event("finding", finding);
  for (const words of findingsInWords(distinct)) outlet.tell(words);
  outlet.event("checked", { findings: distinct.length, ok: !hasErrors(distinct) });
  outlet.tell(
    `Checked ${paths.length === 1 ? (paths[0] as string) : `${paths.length} kits and orders`}: ${countInWords(distinct)}.`,
  );
  return hasErrors(distinct) ? EXIT.input : EXIT.done;
};
