import { badPath, parseJson } from "@kitforme/kit";
import { type Named, Unfit } from "./world.ts";

/**
 * The ICC profiles that a shop's presses name and the shop's fonts, from beside its file; those that are not there are left out, for `readShop`
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

/** Whatever stands as "profile" of a press, and in "fonts"; a text that is no shop names none. */
const namedIn = (text: string): string[] => {
  const parsed = parseJson(text);
  const named = ("value" in parsed ? parsed.value : null) as {
    readonly presses?: unknown;
    readonly fonts?: unknown;
  } | null;
  const { presses, fonts } = named ?? {};
  const profiles =
    typeof presses === "object" && presses !== null
      ? Object.values(presses).map((press: unknown) => (press as { readonly profile?: unknown } | null)?.profile)
      : [];
  const all: readonly unknown[] = [...profiles, ...(Array.isArray(fonts) ? fonts.slice(0, MOST_FONTS) : [])];
  return all.filter((name) => typeof name === "string");
};

/** As many as a shop may name; more are reported where the shop is read. */
const MOST_FONTS = 16;

/** A pipe or a file of gigabytes is neither: as if it were not there. */
const nothing = (error: unknown): undefined => {
  if (!(error instanceof Unfit)) throw error;
  return undefined;
};
