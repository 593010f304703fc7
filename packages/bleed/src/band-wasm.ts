import type { Contour, Point } from "@kitforme/geometry";
import { Room } from "./engine.ts";
import { placePoints, type Raster } from "./frame.ts";
import { beginSearch, eachPortion, type PlacedRuns, type Segments } from "./nearest-wasm.ts";
import { count, type Runs } from "./runs.ts";

type Rings = readonly Contour<"drawing">[];

/** Takes some rows of a band: its target pixels, and segments that say where each takes its value from. All are views that
 * the next portion overwrites. */
export type BandSink = (target: Runs, segments: Segments, fromRow: number, toRow: number) => void;

interface Placed extends PlacedRuns {
  /** How many ends there are. */
  readonly length: number;
}

/** What `rasterise` gives, in the engine's memory. */
const insideOf = (room: Room, raster: Raster, rings: Rings): Placed => {
  const { width, rows } = raster;
  const { engine } = room;
  const ringEnds = new Int32Array(rings.length);
  let many = 0;
  for (let ring = 0; ring < rings.length; ring++) ringEnds[ring] = many += (rings[ring] as readonly Point[]).length;
  const endsAt = room.copy(ringEnds);
  const points = room.floats(2 * many);
  const rowOf = room.array(many);
  room.fit();
  const view = room.viewFloats(points, 2 * many);
  let at = 0;
  for (const ring of rings) at = placePoints(raster, ring, view, at);
  const n = engine.countCrossings(points, endsAt, rings.length, rows, rowOf);
  const first = room.array(rows);
  const crossings = room.floats(2 * n);
  const xs = room.floats(n);
  const start = room.array(rows + 1);
  const ends = room.array(n);
  room.fit();
  const length = engine.inside(points, endsAt, rings.length, rows, width, rowOf, first, crossings, xs, start, ends);
  return { start, ends, length };
};

/**
 * The pixels between parts and reach, each with its nearest pixel inside the parts; none when there is nothing inside.
 * @param guess pixels the band goes out, a first guess
 * @returns pixels of the band
 */
export const eachOfBand = (raster: Raster, parts: Rings, reach: Rings, guess: number, take: BandSink): number => {
  const { width, rows } = raster;
  const room = new Room();
  const source = insideOf(room, raster, parts);
  if (source.length === 0) return 0;
  const around = insideOf(room, raster, reach);
  const start = room.array(rows + 1);
  const ends = room.array(source.length + around.length);
  room.fit();
  const n = room.engine.minus(rows, around.start, around.ends, source.start, source.ends, start, ends);
  beginSearch(room, source, { start, ends }, { width, rows, reach: guess, stride: width, offset: 0 });
  let target: Runs | undefined;
  eachPortion(room, rows, width, (segments, fromRow, toRow) => {
    // Views only now: those made before the memory grew are gone.
    target ??= { rows, start: room.view(start, rows + 1), ends: room.view(ends, n) };
    take(target, segments, fromRow, toRow);
  });
  return target ? count(target) : 0;
};
