import type { z } from "zod";
import { quoted, inFigures } from "../numbers.ts";

/** One fault of a form in plain words: the JSON path, what is wrong, what to write instead. */
export interface Fault {
  readonly field: string;
  readonly what: string;
  readonly hint: string;
}

type Issue = z.core.$ZodIssue;

/** A JSON path as people write it: `pieces[0].slots[1].box`. */
export const fieldOf = (path: readonly PropertyKey[]): string =>
  path
    .map((step, i) =>
      typeof step === "number"
        ? `[${step}]`
        : /^[A-Za-z_][\w-]*$/.test(String(step))
          ? (i === 0 ? "" : ".") + String(step)
          : `[${quoted(String(step))}]`,
    )
    .join("");

const valueAt = (data: unknown, path: readonly PropertyKey[]): unknown =>
  path.reduce<unknown>(
    (at, step) =>
      typeof at === "object" && at !== null && Object.hasOwn(at, step)
        ? (at as Record<PropertyKey, unknown>)[step]
        : undefined,
    data,
  );

const NOUNS: Record<string, string> = {
  string: "a text",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  object: "an object in braces",
  record: "an object in braces",
  array: "a list in brackets",
  tuple: "a list in brackets",
  null: "null",
};

const found = (value: unknown): string => {
  if (value === undefined) return "nothing";
  if (value === null) return "null";
  if (typeof value === "string") return `the text ${quoted(value)}`;
  if (typeof value === "number" || typeof value === "boolean") return String(value);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return `a ${typeof value === "object" ? "braced object" : typeof value}`;
};

const bound = (issue: { readonly inclusive?: boolean | undefined; readonly origin: string }, limit: number): string =>
  issue.origin === "string"
    ? `${inFigures(limit)} characters`
    : issue.origin === "array"
      ? `${inFigures(limit)} entries`
      : inFigures(limit);

/** The most telling branch of a union: the one whose faults lie deepest, so that the person's intention is met. */
const deepest = (branches: readonly (readonly Issue[])[]): readonly Issue[] =>
  [...branches].sort(
    (a, b) => Math.max(0, ...b.map((i) => i.path.length)) - Math.max(0, ...a.map((i) => i.path.length)),
  )[0] ?? [];

const faultsOf = (issue: Issue, base: readonly PropertyKey[], data: unknown): Fault[] => {
  const path = [...base, ...issue.path];
  const field = fieldOf(path);
  const value = valueAt(data, path);
  const one = (what: string, hint: string): Fault[] => [{ field, what, hint }];
  switch (issue.code) {
    case "invalid_type": {
      const noun = NOUNS[issue.expected] ?? issue.expected;
      if (value === undefined) return one(`${noun} is missing`, `Add ${field || "the content"}.`);
      return one(`${noun} is expected, found ${found(value)}`, "Correct the value.");
    }
    case "too_small":
      if (issue.origin === "string" || issue.origin === "array")
        return one(
          `is too short: ${found(value)}, at least ${bound(issue, Number(issue.minimum))}`,
          "Add what is missing.",
        );
      return one(
        `${found(value)} is too small, it must be ${issue.inclusive ? "at least" : "more than"} ${inFigures(Number(issue.minimum))}`,
        "Correct the number.",
      );
    case "too_big":
      if (issue.origin === "string" || issue.origin === "array")
        return one(`is too long: at most ${bound(issue, Number(issue.maximum))}`, "Take away what is too much.");
      return one(`${found(value)} is too large, at most ${inFigures(Number(issue.maximum))}`, "Correct the number.");
    case "invalid_value":
      return one(
        `${found(value)} is not known here`,
        `Write ${issue.values.map((v) => quoted(String(v))).join(" or ")}.`,
      );
    case "invalid_format":
      if (issue.format === "date") return one(`${found(value)} is no date`, "Write year-month-day, like 2026-12-04.");
      if (issue.pattern?.includes("#"))
        return one(`${found(value)} is not a colour`, "Write # and six hexadecimal digits, like #1b3a5b.");
      if (issue.pattern?.includes("[A-Z]{3}"))
        return one(`${found(value)} is not a currency`, "Write three capital letters of ISO 4217, like EUR.");
      return one(`${found(value)} does not have the form that is expected here`, "Correct the value.");
    case "invalid_union": {
      const branch = deepest(issue.errors);
      if (Math.max(0, ...branch.map((i) => i.path.length)) > 0) return branch.flatMap((i) => faultsOf(i, path, data));
      const kinds = issue.errors.flatMap((e) =>
        e.map((i) =>
          i.code === "invalid_type"
            ? (NOUNS[i.expected] ?? i.expected)
            : i.code === "invalid_value"
              ? i.values.map((v) => quoted(String(v))).join(" or ")
              : i.message,
        ),
      );
      return one(`${found(value)} does not fit`, `Write ${[...new Set(kinds)].join(" or ")}.`);
    }
    case "invalid_key":
    case "invalid_element":
      return issue.issues.flatMap((i) => faultsOf(i, path, data));
    default:
      return one(issue.message, "Correct the value.");
  }
};

/** All faults of a form at once, in the order of the form. */
export const faults = (error: z.core.$ZodError, data: unknown): Fault[] =>
  error.issues.flatMap((issue) => faultsOf(issue, [], data));
