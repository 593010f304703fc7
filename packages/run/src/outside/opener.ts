// The process in which drawings, pictures, PDFs and fonts of strangers are opened. Whatever one of them does to it, nobody
// else shares it: see `Openers`.
import type { Artwork, Piece, Slot, TextSlot } from "@kitforme/kit";
import type { BleedCache, Layer } from "@kitforme/prepress";
import { type Parent, type Ref, serveTasks } from "@kitforme/threads";
import { type Answers, READS_FIRST, type SpooledLayer, type SpooledPiece, type Task } from "./tasks.ts";

const NONE = new Uint8Array();
/** Fonts held open between tasks: as many names in one font are set one after the other. */
const MOST_FONTS = 16;

/** What reads drawings, and what opens artwork and fonts: each loaded when it is first wanted, for many a process does one alone. */
const reader = () => import("@kitforme/kit/piece");
const prepress = () => import("@kitforme/prepress");

/** Bleed maps of this process, bounded by bytes: the next piece of the same contour finds its map made. */
let maps: BleedCache | undefined;
/** Fonts by their places. The same place gives the same array, which is opened once. */
const fonts = new Map<string, Uint8Array>();
/** Where bytes that came from the spool lie in it. */
const places = new WeakMap<Uint8Array, Ref>();

const take = (ref: Ref, parent: Parent): Uint8Array => {
  const bytes = parent.get(ref);
  places.set(bytes, ref);
  return bytes;
};

const takeFont = (ref: Ref, parent: Parent): Uint8Array => {
  const key = `${ref.at} ${ref.age}`;
  const known = fonts.get(key);
  if (known) return known;
  const bytes = take(ref, parent);
  fonts.set(key, bytes);
  for (const eldest of fonts.keys()) {
    if (fonts.size <= MOST_FONTS) break;
    fonts.delete(eldest);
  }
  return bytes;
};

/** Lays bytes into the spool, unless they came from there. */
const spool = async (bytes: Uint8Array, parent: Parent): Promise<Ref> => places.get(bytes) ?? (await parent.put(bytes));

const open = async (task: Task & { do: "open" }, parent: Parent): Promise<Answers["open"]> => {
  const { openPiece } = await reader();
  const { piece, findings } = await openPiece(task.request, async (path) => {
    const ref = await parent.ask<Ref | undefined>({ path });
    return ref && take(ref, parent);
  });
  return { ...(piece ? { piece: await spoolPiece(piece, parent) } : {}), findings };
};

const fontsOf = (slot: Slot): TextSlot["fonts"] => (slot.kind === "text" ? slot.fonts : []);
const withFonts = (
  slot: Slot,
  font: (font: TextSlot["fonts"][number], k: number) => TextSlot["fonts"][number],
): Slot => (slot.kind === "text" ? { ...slot, fonts: slot.fonts.map(font) } : slot);

const bytesOf = (artwork: Artwork): Uint8Array =>
  artwork.kind === "drawing" ? Buffer.from(artwork.svg) : artwork.bytes;
const emptied = (artwork: Artwork): Artwork =>
  artwork.kind === "drawing" ? { ...artwork, svg: "" } : { ...artwork, bytes: NONE };

const spoolPiece = async (piece: Piece, parent: Parent): Promise<SpooledPiece> => {
  const { artwork, back } = piece;
  const spooled: Ref[][] = [];
  for (const slot of piece.slots) {
    const own: Ref[] = [];
    for (const font of fontsOf(slot)) own.push(await spool(font.bytes, parent));
    spooled.push(own);
  }
  return {
    piece: {
      ...piece,
      artwork: artwork && emptied(artwork),
      ...(back ? { back: { ...back, artwork: back.artwork && emptied(back.artwork) } } : {}),
      slots: piece.slots.map((slot) => withFonts(slot, ({ file }) => ({ file, bytes: NONE }))),
    },
    artwork: artwork ? await spool(bytesOf(artwork), parent) : undefined,
    ...(back?.artwork ? { back: await spool(bytesOf(back.artwork), parent) } : {}),
    fonts: spooled,
  };
};

/** A piece with the bytes that a task needs. */
const takePiece = (spooled: SpooledPiece, parent: Parent, needs: "artwork" | "fonts"): Piece => {
  const { piece, artwork: ref, fonts: refs } = spooled;
  const { artwork } = piece;
  if (needs === "fonts")
    return {
      ...piece,
      artwork: null,
      slots: piece.slots.map((slot, i) =>
        withFonts(slot, ({ file }, k) => ({ file, bytes: takeFont(refs[i]?.[k] as Ref, parent) })),
      ),
    };
  if (!artwork || !ref) return piece;
  const bytes = take(ref, parent);
  return {
    ...piece,
    artwork: artwork.kind === "drawing" ? { ...artwork, svg: new TextDecoder().decode(bytes) } : { ...artwork, bytes },
  };
};

const prepareOne = async (task: Task & { do: "prepare" }, parent: Parent): Promise<Answers["prepare"]> => {
  const piece = takePiece(task.piece, parent, "artwork");
  const { BleedCache, prepare } = await prepress();
  maps ??= new BleedCache();
  const { want } = task;
  // To weigh its ink a drawing is drawn once.
  const looks = want === "ink" ? { vectors: false, twice: false } : {};
  const { value, findings } = await prepare(piece, task.press, { cache: maps, ...looks });
  if (!value) return { findings };
  const { layers, spots, ink, reach, bleed } = value;
  const spooled: SpooledLayer[] = [];
  if (want === "all") for (const layer of layers) spooled.push(await spoolLayer(layer, parent));
  return {
    value: {
      reach,
      bleed,
      ...(spots ? { spots } : {}),
      ...(want !== "findings" && ink ? { ink } : {}),
      layers: spooled,
    },
    findings,
  };
};

const spoolLayer = async (layer: Layer, parent: Parent): Promise<SpooledLayer> => {
  if (layer.kind === "page") {
    const { page } = layer;
    return {
      layer: { ...layer, page: { ...page, bytes: NONE } },
      bytes: await spool(page.bytes, parent),
      profile: undefined,
    };
  }
  const { profile, ...raster } = layer.raster;
  return {
    layer: { ...layer, raster: { ...raster, data: { ...raster.data, bytes: NONE } } },
    bytes: await spool(raster.data.bytes, parent),
    profile: profile && (await spool(profile, parent)),
  };
};

const openSteps = async (task: Task & { do: "assembly" }, parent: Parent): Promise<Answers["assembly"]> => {
  const { kit, file } = task;
  const { openAssembly } = await prepress();
  const { value, findings } = await openAssembly({ kit, file, bytes: take(task.bytes, parent) });
  if (!value) return { findings };
  const pages: Ref[] = [];
  for (const { bytes } of value.pages) pages.push(await spool(bytes, parent));
  return { pages, findings };
};

const setAll = async (task: Task & { do: "texts" }, parent: Parent): Promise<Answers["texts"]> => {
  const { setText } = await prepress();
  const piece = takePiece(task.piece, parent, "fonts");
  const set = [];
  for (const { slot, text, inks, safe } of task.texts) {
    const own = piece.slots[slot];
    const asked = own && safe !== undefined ? { ...own, safe } : own;
    if (asked?.kind !== "text") throw new Error(`${piece.kit}/${piece.piece} has no text in its slot ${slot}`);
    set.push(await setText(asked, text, piece, inks));
  }
  return set;
};

const setOne = async (task: Task & { do: "picture" }, parent: Parent): Promise<Answers["picture"]> => {
  const { piece } = task.piece;
  const slot = piece.slots[task.slot];
  if (slot?.kind !== "picture") throw new Error(`${piece.kit}/${piece.piece} has no picture in its slot ${task.slot}`);
  const picture = { ...task.picture, bytes: take(task.bytes, parent) };
  const { setPicture } = await prepress();
  const { value, findings } = await setPicture(slot, picture, piece, task.press);
  return value ? { value: { ...value, layer: await spoolLayer(value.layer, parent) }, findings } : { findings };
};

if (process.argv.includes(READS_FIRST)) void reader();

serveTasks((given, parent) => {
  const task = given as Task;
  switch (task.do) {
    case "open":
      return open(task, parent);
    case "assembly":
      return openSteps(task, parent);
    case "prepare":
      return prepareOne(task, parent);
    case "fonts":
      return prepress().then(({ checkFonts }) => checkFonts(takePiece(task.piece, parent, "fonts")));
    case "texts":
      return setAll(task, parent);
    case "picture":
      return setOne(task, parent);
  }
});
