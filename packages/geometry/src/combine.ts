// Outlines put together and cut out of each other.
import { combineRings } from "./clipper.ts";
import { ringsOf } from "./outline.ts";
import type { Contour, Outline, Space } from "./point.ts";

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

/** Rings wound either way, even crossing themselves, made valid by the even-odd rule. */
export const repaired = <S extends Space>(rings: readonly Contour<S>[]): Outline<S>[] =>
  combineRings("union", rings, [], "evenOdd");
