import { besideFile, type Finding, type Input } from "@kitforme/run";
import { readNamed } from "./files.ts";

/** Shop and orders by their paths as far as they can be read, and a finding for each that cannot; no input without a shop. */
export const readInput = async (
  shop: string,
  orders: readonly string[],
): Promise<{ readonly input?: Input; readonly findings: readonly Finding[] }> => {
  const [shopFile, ...orderFiles] = await Promise.all([
    readNamed(shop, "The shop's file"),
    ...orders.map((path) => readNamed(path, "The order")),
  ]);
  const findings = [shopFile, ...orderFiles].flatMap((f) => (f && "finding" in f ? [f.finding] : []));
  if (!shopFile || "finding" in shopFile) return { findings };
  const read = orderFiles.flatMap((f, i) =>
    "text" in f ? [{ file: orders[i] as string, text: f.text, read: besideFile(orders[i] as string) }] : [],
  );
  return { findings, input: { shop: { file: shop, text: shopFile.text, read: besideFile(shop) }, orders: read } };
};
