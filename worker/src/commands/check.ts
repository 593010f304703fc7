import { stat } from "node:fs/promises";
import { check as checkAll, type Finding, hasErrors, type Openers } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { faultOfKits, shelfFor } from "../kit-folders.ts";
import type { Outlet } from "../outlet.ts";
import type { Stop } from "../stop.ts";
import { showProgress } from "../progress.ts";
import { cautionsInWords, countInWords, findingsInWords, plural } from "../words.ts";
import { readInput } from "../read-input.ts";

export interface CheckOptions {
  readonly shop: string;
  readonly kits?: string;
  readonly ahead: Openers;
}

const isFolder = (path: string): Promise<boolean> =>
  stat(path).then(
    (s) => s.isDirectory(),
    () => false,
  );

/** Findings about kits and orders, those of a kit as soon as it has been looked at; nothing is made. Orders are held against `--kits`, else against the kit folders named beside them. */
export const check = async (
  paths: readonly string[],
  options: CheckOptions,
  outlet: Outlet,
  stop: Stop,
): Promise<number> => {
  const folders: string[] = [];
  const orders: string[] = [];
  for (const path of paths) ((await isFolder(path)) ? folders : orders).push(path);
  const { input, findings: unread } = await readInput(options.shop, orders);
  const kitsFault = options.kits === undefined ? undefined : await faultOfKits(options.kits);
  const findings: Finding[] = [...unread, ...(kitsFault ? [kitsFault] : [])];
  let checkedKits = folders.length;
  if (input && !kitsFault) {
    const shown = showProgress(outlet, stop);
    const shelf = await shelfFor(folders, options.kits);
    checkedKits = shelf.folders.length;
    const onFindings = (found: readonly Finding[]): void => {
      shown.stop();
      findings.push(...found);
      tell(found, outlet);
    };
    tell(findings, outlet);
    const watch = { onProgress: shown.onProgress, onFindings, ahead: options.ahead };
    const checked = await checkAll({ ...input, folders: shelf.folders }, shelf.store, watch).finally(shown.stop);
    for (const caution of checked.cautions) outlet.event("caution", caution);
    for (const words of cautionsInWords(checked.cautions)) outlet.tell(words);
  } else tell(findings, outlet);
  outlet.event("checked", { findings: findings.length, ok: !hasErrors(findings) });
  const what = [
    ...(checkedKits > 0 ? [plural(checkedKits, "kit")] : []),
    ...(orders.length > 0 ? [plural(orders.length, "order")] : []),
  ].join(" and ");
  outlet.tell(`Checked ${what}: ${countInWords(findings)}.`);
  return hasErrors(findings) ? EXIT.input : EXIT.done;
};

const tell = (findings: readonly Finding[], outlet: Outlet): void => {
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.tell(words);
};
