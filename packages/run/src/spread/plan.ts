// What is handed over to others so that they can write sheets of a job: the sheets as data, and the bytes of their pictures.
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { readFile, stat } from "node:fs/promises";
import { join } from "node:path";
import { deserialize, serialize } from "node:v8";
import type { Piece, Shop, Slot } from "@kitforme/kit";
import type { Layer, PreparedPiece } from "@kitforme/prepress";
import type { Placed, Sheet } from "@kitforme/sheet";
import { layWhole } from "../lay-whole.ts";
import { makeFolder } from "../make-folder.ts";

/** What all sheets of a job have in common. */
export interface SheetPlan {
  readonly job: string;
  readonly proof: NonNullable<Shop["proof"]>;
  /** Numbers of the sheets that look like another but for their words. */
  readonly alike: readonly number[];
  readonly sheets: readonly Sheet[];
}

/** What sheets that are cut alike have in common: one file for all of them. */
type Cuts = Pick<Sheet, "stock" | "lines" | "paths" | "marks" | "work">;

/** Cut geometries that whoever opened a plan remembers: sheets of one follow each other. */
const REMEMBERED = 4;

/** A plan that lies in a folder. */
export interface OpenedPlan extends Omit<SheetPlan, "sheets"> {
  /** A sheet by its number. Pieces are the same objects for all sheets; bytes of pictures are read when asked for. */
  sheet(number: number): Promise<Sheet>;
}

/** Where the bytes of a picture lie: a file named for their hash. */
interface Lent {
  readonly lent: string;
}

const NONE = new Uint8Array();
const COMMON = "plan";
const nameOf = (sheet: number): string => `sheet-${sheet}`;
const nameOfCuts = (cuts: number): string => `cuts-${cuts}`;

/** Lays the sheets with these numbers into a folder, which is made; pictures that many sheets have lie there once. */
export const layPlan = async (
  folder: string,
  { job, proof, alike, sheets }: SheetPlan,
  numbers: ReadonlySet<number>,
): Promise<void> => {
  await makeFolder(folder);
  const lend = async (bytes: Uint8Array): Promise<Lent> => {
    const lent = createHash("sha256").update(bytes).digest("hex");
    const file = join(folder, lent);
    if (!(await stat(file).catch(() => undefined))) await layWhole(file, bytes);
    return { lent };
  };
  const indexes = new Map<PreparedPiece, number>();
  const pieces: PreparedPiece[] = [];
  const geometries = new Map<Sheet["paths"], number>();
  for (const sheet of sheets) {
    if (!numbers.has(sheet.sheet)) continue;
    const placed = [];
    for (const one of sheet.placed) {
      let index = indexes.get(one.prepared);
      if (index === undefined) {
        index = pieces.push(await lendPiece(one.prepared, lend)) - 1;
        indexes.set(one.prepared, index);
      }
      placed.push({ ...(await lendPictures(one, lend)), prepared: index });
    }
    const { stock, lines, paths, marks, work, ...rest } = sheet;
    let cuts = geometries.get(paths);
    if (cuts === undefined) {
      geometries.set(paths, (cuts = geometries.size));
      await layWhole(join(folder, nameOfCuts(cuts)), serialize({ stock, lines, paths, marks, work } satisfies Cuts));
    }
    await layWhole(join(folder, nameOf(sheet.sheet)), serialize({ ...rest, cuts, placed }));
  }
  await layWhole(join(folder, COMMON), serialize({ job, proof, alike, pieces }));
};

/** Opens a plan that was laid. Throws when it is not there. */
export const openPlan = async (folder: string): Promise<OpenedPlan> => {
  const { job, proof, alike, pieces } = deserialize(await readFile(join(folder, COMMON))) as Omit<
    SheetPlan,
    "sheets"
  > & {
    pieces: PreparedPiece[];
  };
  const read = ({ lent }: Lent): Uint8Array => readFileSync(join(folder, lent));
  const whole = pieces.map((piece) => takePiece(piece, read));
  const known = new Map<number, Cuts>();
  /** The same objects for sheets that follow each other: by that writers know that they are cut alike. */
  const cutsOf = async (number: number): Promise<Cuts> => {
    const cuts = known.get(number) ?? (deserialize(await readFile(join(folder, nameOfCuts(number)))) as Cuts);
    known.delete(number);
    known.set(number, cuts);
    for (const [eldest] of known) if (known.size > REMEMBERED) known.delete(eldest);
    return cuts;
  };
  return {
    job,
    proof,
    alike,
    async sheet(number) {
      const { cuts, ...sheet } = deserialize(await readFile(join(folder, nameOf(number)))) as Omit<
        Sheet,
        "placed" | keyof Cuts
      > & {
        cuts: number;
        placed: readonly (Omit<Placed, "prepared"> & { prepared: number })[];
      };
      const placed = sheet.placed.map((one): Placed => {
        const { pictures } = one;
        const prepared = whole[one.prepared];
        if (!prepared) throw new Error(`sheet ${number} has a piece that was not handed over`);
        return {
          ...one,
          prepared,
          ...(pictures ? { pictures: pictures.map((p) => ({ ...p, layer: takeLayer(p.layer, read) })) } : {}),
        };
      });
      return { ...sheet, ...(await cutsOf(cuts)), placed };
    },
  };
};

type Lend = (bytes: Uint8Array) => Promise<Lent>;
type Read = (lent: Lent) => Uint8Array;

const lendPiece = async (prepared: PreparedPiece, lend: Lend): Promise<PreparedPiece> => {
  const { piece, layers, back } = prepared;
  return {
    ...prepared,
    piece: withoutInput(piece),
    layers: await lendLayers(layers, lend),
    ...(back ? { back: { ...back, layers: await lendLayers(back.layers, lend) } } : {}),
  };
};

const takePiece = (prepared: PreparedPiece, read: Read): PreparedPiece => {
  const { layers, back } = prepared;
  return {
    ...prepared,
    layers: layers.map((layer) => takeLayer(layer, read)),
    ...(back ? { back: { ...back, layers: back.layers.map((layer) => takeLayer(layer, read)) } } : {}),
  };
};

const lendPictures = async (placed: Placed, lend: Lend): Promise<Placed> => {
  if (!placed.pictures) return placed;
  const pictures = [];
  for (const picture of placed.pictures) pictures.push({ ...picture, layer: await lendLayer(picture.layer, lend) });
  return { ...placed, pictures };
};

const lendLayers = async (layers: readonly Layer[], lend: Lend): Promise<Layer[]> => {
  const lent = [];
  for (const layer of layers) lent.push(await lendLayer(layer, lend));
  return lent;
};

// A reference stands where the bytes stood: the layer is whole again only behind `takeLayer`.
const lendLayer = async (layer: Layer, lend: Lend): Promise<Layer> => {
  const inPlace = async (bytes: Uint8Array): Promise<Uint8Array> => (await lend(bytes)) as unknown as Uint8Array;
  if (layer.kind === "page") return { ...layer, page: { ...layer.page, bytes: await inPlace(layer.page.bytes) } };
  const { raster } = layer;
  const { profile } = raster;
  return {
    ...layer,
    raster: {
      ...raster,
      data: { ...raster.data, bytes: await inPlace(raster.data.bytes) },
      ...(profile ? { profile: await inPlace(profile) } : {}),
    },
  };
};

const takeLayer = (layer: Layer, read: Read): Layer => {
  const later = <T extends object, K extends keyof T>(thing: T, key: K): T => {
    const lent = thing[key] as unknown as Lent;
    return Object.defineProperty({ ...thing }, key, { enumerable: true, configurable: true, get: () => read(lent) });
  };
  if (layer.kind === "page") return { ...layer, page: later(layer.page, "bytes") };
  const raster = { ...layer.raster, data: later(layer.raster.data, "bytes") };
  return { ...layer, raster: raster.profile ? later(raster, "profile") : raster };
};

/** A piece without the files that it was made of: writers look at its lines, and whether it prints at all. */
export const withoutInput = (piece: Piece): Piece => {
  const { artwork, back } = piece;
  const emptied = (one: Piece["artwork"]): Piece["artwork"] =>
    one && (one.kind === "drawing" ? { ...bare(one, "svg"), svg: "" } : { ...bare(one, "bytes"), bytes: NONE });
  return {
    ...piece,
    artwork: emptied(artwork),
    ...(back ? { back: { ...back, artwork: emptied(back.artwork) } } : {}),
    slots: piece.slots.map(
      (slot): Slot =>
        slot.kind === "text" ? { ...slot, fonts: slot.fonts.map(({ file }) => ({ file, bytes: NONE })) } : slot,
    ),
  };
};

/** The thing without one of its values, which is not read for it. */
const bare = <T extends object, K extends keyof T>(thing: T, key: K): Omit<T, K> =>
  Object.fromEntries(Object.keys(thing).flatMap((k) => (k === key ? [] : [[k, thing[k as keyof T]]]))) as Omit<T, K>;
