// Fields beyond the form are welcome, but `perkit` beside a missing `perKit` is a mistake that prints one piece for four.
import type { z } from "zod";
import { fieldOf } from "./fault.ts";

export interface NearMiss {
  readonly field: string;
  readonly written: string;
  readonly meant: string;
}

/** Shorter names are near to too many others. */
const SHORTEST = 4;

const plain = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]/g, "");

/** One letter too many, too few, another, or two exchanged. */
const oneApart = (a: string, b: string): boolean => {
  if (Math.abs(a.length - b.length) > 1 || Math.min(a.length, b.length) < SHORTEST) return false;
  let i = 0;
  while (i < a.length && a[i] === b[i]) i++;
  const [restA, restB] = [a.slice(i), b.slice(i)];
  return (
    restA.slice(1) === restB ||
    restA === restB.slice(1) ||
    restA.slice(1) === restB.slice(1) ||
    (restA.slice(2) === restB.slice(2) && restA[0] === restB[1] && restA[1] === restB[0])
  );
};

const meantBy = (written: string, missing: readonly string[]): string | undefined =>
  missing.find((known) => plain(known) === plain(written)) ??
  missing.find((known) => oneApart(plain(known), plain(written)));

const isObject = (data: unknown): data is Readonly<Record<string, unknown>> =>
  typeof data === "object" && data !== null && !Array.isArray(data);

/** Unknown fields of believed data that are nearly the name of a known field which is not there, with their JSON paths. */
export const nearMisses = (form: z.core.$ZodType, data: unknown, path: readonly PropertyKey[] = []): NearMiss[] => {
  const { def } = (form as z.core.$ZodTypes)._zod;
  switch (def.type) {
    case "optional":
    case "nullable":
    case "default":
      return nearMisses(def.innerType, data, path);
    case "array":
      return Array.isArray(data) ? data.flatMap((one, i) => nearMisses(def.element, one, [...path, i])) : [];
    case "record":
      return isObject(data)
        ? Object.entries(data).flatMap(([key, one]) => nearMisses(def.valueType, one, [...path, key]))
        : [];
    case "union":
      return def.options.flatMap((option) => nearMisses(option, data, path));
    case "object": {
      if (!isObject(data)) return [];
      const known = Object.keys(def.shape);
      const missing = known.filter((k) => data[k] === undefined);
      const here = Object.keys(data).flatMap((written): NearMiss[] => {
        const meant = known.includes(written) ? undefined : meantBy(written, missing);
        return meant === undefined ? [] : [{ field: fieldOf([...path, written]), written, meant }];
      });
      return [
        ...here,
        ...known.flatMap((k) => {
          const inner = def.shape[k];
          return inner && data[k] !== undefined ? nearMisses(inner, data[k], [...path, k]) : [];
        }),
      ];
    }
    default:
      return [];
  }
};
