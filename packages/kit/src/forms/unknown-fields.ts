// A field that no reader knows is a mistake more often than a remark: `perkit` beside a missing `perKit` prints one piece for four.
import type { z } from "zod";
import { fieldOf } from "./fault.ts";

/** A field that the form does not have: its JSON path, its name as written, and the known name nearest to it, if any is near. */
export interface UnknownField {
  readonly field: string;
  readonly written: string;
  readonly meant?: string;
  /** The field that was probably meant is given as well. */
  readonly given: boolean;
  /** Every field that is known there. */
  readonly known: readonly string[];
}

/** Names are compared without capitals, hyphens and the like. */
const plain = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]/g, "");

/** How many letters may be wrong in a name of so many: in short ones none, or everything is near to everything. */
const slips = (letters: number): number => (letters < 4 ? 0 : letters < 8 ? 1 : 2);

/** Letters to put in, take out, change or exchange with their neighbour to make one of the other (restricted Damerau-Levenshtein). */
const apart = (a: string, b: string): number => {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      const swap =
        i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1] ? (before[j - 2] ?? 0) + 1 : Infinity;
      next.push(Math.min(change, swap, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    [before, row] = [row, next];
  }
  return row[b.length] ?? 0;
};

/** The nearest known name; of equally near ones the first that is not given. */
const meantBy = (written: string, known: readonly string[], given: ReadonlySet<string>): string | undefined => {
  const name = plain(written);
  if (name.length > 100) return undefined;
  return known
    .map((one) => ({ one, far: apart(name, plain(one)), length: Math.min(name.length, plain(one).length) }))
    .filter(({ far, length }) => far <= slips(length))
    .sort((p, q) => p.far - q.far || Number(given.has(p.one)) - Number(given.has(q.one)))[0]?.one;
};

const isObject = (data: unknown): data is Readonly<Record<string, unknown>> =>
  typeof data === "object" && data !== null && !Array.isArray(data);

/** Fields of a value that its form does not have, at every depth, in the order they stand. The value need not fit the form. */
export const unknownFields = (
  form: z.core.$ZodType,
  data: unknown,
  path: readonly PropertyKey[] = [],
): UnknownField[] => {
  const { def } = (form as z.core.$ZodTypes)._zod;
  switch (def.type) {
    case "optional":
    case "nullable":
    case "default":
    case "prefault":
    case "readonly":
    case "catch":
      return unknownFields(def.innerType, data, path);
    case "pipe":
      return unknownFields(def.in, data, path);
    case "array":
      return Array.isArray(data) ? data.flatMap((one, i) => unknownFields(def.element, one, [...path, i])) : [];
    case "tuple":
      return Array.isArray(data)
        ? data.flatMap((one, i) => (def.items[i] ? unknownFields(def.items[i], one, [...path, i]) : []))
        : [];
    case "record":
      return isObject(data)
        ? Object.entries(data).flatMap(([key, one]) => unknownFields(def.valueType, one, [...path, key]))
        : [];
    case "union": {
      // The branch that was meant is the one that knows most of what is there.
      const fitting = def.options.filter((option) => (isObject(data) ? shapesOf(option) : !shapesOf(option)));
      return fitting.map((option) => unknownFields(option, data, path)).sort((p, q) => p.length - q.length)[0] ?? [];
    }
    case "object": {
      if (!isObject(data)) return [];
      const known = Object.keys(def.shape);
      const given = new Set(Object.keys(data));
      return Object.entries(data).flatMap(([written, value]): UnknownField[] => {
        const inner = Object.hasOwn(def.shape, written) ? def.shape[written] : undefined;
        if (inner) return unknownFields(inner, value, [...path, written]);
        const meant = meantBy(written, known, given);
        return [
          {
            field: fieldOf([...path, written]),
            written,
            ...(meant === undefined ? {} : { meant }),
            given: meant !== undefined && given.has(meant),
            known,
          },
        ];
      });
    }
    default:
      return [];
  }
};

/** Whether a form takes objects with fields. */
const shapesOf = (form: z.core.$ZodType): boolean => {
  const { def } = (form as z.core.$ZodTypes)._zod;
  if (def.type === "optional" || def.type === "nullable" || def.type === "default") return shapesOf(def.innerType);
  return def.type === "object" || def.type === "record";
};
