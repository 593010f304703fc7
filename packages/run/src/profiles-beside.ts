import { badPath, parseJson } from "@kitforme/kit";
import { type Named, Unfit } from "./world.ts";

/**
 * The ICC profiles that a shop's presses name, from beside its file; those that are not there are left out, for `readShop`
 * to report. Nothing outside the shop's folder is asked for.
 *
 * @example
 * const profiles = await profilesBeside({ ...shop, read: besideFile("shop.json") }); // { "coated.icc": bytes }
 */
export const profilesBeside = async ({
  text,
  read,
}: Pick<Named, "text" | "read">): Promise<Readonly<Record<string, Uint8Array>>> => {
  const found: Record<string, Uint8Array> = {};
  for (const name of namedIn(text)) {
    const bytes = badPath(name) === undefined ? await read?.(name).catch(nothing) : undefined;
    if (bytes) found[name] = bytes;
  }
  return found;
};

/** Whatever stands as "profile" of a press; a text that is no shop names none. */
const namedIn = (text: string): string[] => {
  const parsed = parseJson(text);
  const presses: unknown = "value" in parsed && (parsed.value as { readonly presses?: unknown } | null)?.presses;
  if (typeof presses !== "object" || presses === null) return [];
  return Object.values(presses).flatMap((press: unknown) => {
    const profile: unknown = (press as { readonly profile?: unknown } | null)?.profile;
    return typeof profile === "string" ? [profile] : [];
  });
};

/** A pipe or a file of gigabytes is no profile: as if it were not there. */
const nothing = (error: unknown): undefined => {
  if (!(error instanceof Unfit)) throw error;
  return undefined;
};
