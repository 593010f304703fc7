// Outlines put together, cut out of each other, and lines clipped by them.
import { clipOpen, combineRings } from "./clipper.ts";
import { ringsOf } from "./outline.ts";
import type { Contour, Outline, Path, Space } from "./point.ts";

/** All of a and b as one; with one argument, a with its overlaps merged. */
export const union = <S extends Space>(a: readonly Outline<S>[], b: readonly Outline<S>[] = []): Outline<S>[] =>
  combineRings("union", ringsOf(a), ringsOf(b));

/** What a and b have in common. */
export const intersect = <S extends Space>(a: readonly Outline<S>[], b: readonly Outline<S>[]): Outline<S>[] =>
  combineRings("intersect", ringsOf(a), ringsOf(b));

/** a without b. */
export const subtract = <S extends Space>(a: readonly Outline<S>[], b: readonly Outline<S>[]): Outline<S>[] =>
  combineRings("subtract", ringsOf(a), ringsOf(b));

/** What is in exactly one of a and b. */
export const xor = <S extends Space>(a: readonly Outline<S>[], b: readonly Outline<S>[]): Outline<S>[] =>
  combineRings("xor", ringsOf(a), ringsOf(b));

/** Rings wound either way, even crossing themselves, made lawful by the even-odd rule. */
export const repaired = <S extends Space>(rings: readonly Contour<S>[]): Outline<S>[] =>
  combineRings("union", rings, [], "evenOdd");

/** The parts of open lines inside or outside of outlines. The order and the direction of the parts are clipper-lib's. */
export const clipPaths = <S extends Space>(
  paths: readonly Path<S>[],
  outlines: readonly Outline<S>[],
  side: "inside" | "outside",
): Path<S>[] => clipOpen(paths, ringsOf(outlines), side);
