// What a font calls itself: family names and style, read from the `name` and `OS/2` tables (OpenType 1.9).

export interface FontNames {
  /** Lower case: the typographic family (ID 16) and the family (ID 1). */
  readonly families: readonly string[];
  /** As it is written, for people. */
  readonly shown: string;
  readonly weight: number;
  readonly slanted: boolean;
}

/**
 * A copy of the font that goes by its family (ID 1) alone, as drawing programs write it: "Noto Sans SemiBold". The second
 * renderer knows a font by its typographic family (ID 16) where it has one, and would not find it. Undefined when both are one.
 */
export const byFamilyAlone = (sfnt: Uint8Array, { families }: FontNames): Uint8Array | undefined => {
  if (families.length < 2) return undefined;
  const copy = sfnt.slice();
  const view = new DataView(copy.buffer, copy.byteOffset, copy.byteLength);
  const name = tableAt(view, copy, "name");
  if (name === undefined) return undefined;
  for (let i = 0; i < view.getUint16(name + 2); i++) {
    const at = name + 6 + 12 * i + 6;
    const id = view.getUint16(at);
    // 16 and 17 become names that nobody asks for.
    if (id === 16 || id === 17) view.setUint16(at, 0x7f00 + id);
  }
  return copy;
};

/** Where a table of the first font begins. */
const tableAt = (view: DataView, sfnt: Uint8Array, tag: string): number | undefined => {
  const start = view.getUint32(0) === 0x74746366 ? view.getUint32(12) : 0;
  const count = view.getUint16(start + 4);
  for (let i = 0; i < count; i++) {
    const at = start + 12 + 16 * i;
    if (String.fromCharCode(...sfnt.subarray(at, at + 4)) === tag) return view.getUint32(at + 8);
  }
  return undefined;
};

/** Reads the names of a plain sfnt file, or of the first font of a collection; undefined when it has none. */
export const fontNames = (sfnt: Uint8Array): FontNames | undefined => {
  const view = new DataView(sfnt.buffer, sfnt.byteOffset, sfnt.byteLength);
  try {
    const table = (tag: string): number | undefined => tableAt(view, sfnt, tag);
    const name = table("name");
    if (name === undefined) return undefined;
    const found = new Map<number, Set<string>>();
    const storage = name + view.getUint16(name + 4);
    for (let i = 0; i < view.getUint16(name + 2); i++) {
      const at = name + 6 + 12 * i;
      const id = view.getUint16(at + 6);
      if (id !== 1 && id !== 16) continue;
      const from = storage + view.getUint16(at + 10);
      const bytes = sfnt.subarray(from, from + view.getUint16(at + 8));
      const text = new TextDecoder(view.getUint16(at) === 1 ? "latin1" : "utf-16be").decode(bytes);
      found.set(id, (found.get(id) ?? new Set()).add(text));
    }
    const all = [...(found.get(16) ?? []), ...(found.get(1) ?? [])];
    const os2 = table("OS/2");
    const weight = os2 === undefined ? 400 : view.getUint16(os2 + 4);
    const slanted = os2 !== undefined && (view.getUint16(os2 + 62) & 0x201) !== 0;
    const [shown] = all;
    return shown === undefined
      ? undefined
      : { families: [...new Set(all.map((one) => one.toLowerCase()))], shown, weight, slanted };
  } catch {
    return undefined;
  }
};
