import type { z } from "zod";
import { faults } from "./forms/fault.ts";
import { type UnknownField, unknownFields } from "./forms/unknown-fields.ts";
import { keysTwice } from "./json-keys.ts";
import type { Answer, Finding, Place } from "./problem.ts";
import { parseJson } from "./parse-json.ts";
import { say } from "./say.ts";

/** Longest JSON text that is read, in characters. */
const LONGEST_TEXT = 32 * 1024 * 1024;

/**
 * A JSON text or a value that was one, believed to have the form, or every fault of it with its JSON path. Fields that the
 * form does not have are warnings, a name given twice in one object is an error. Never throws.
 */
export const readForm = <T>(form: z.ZodType<T>, input: unknown, where: Place): Answer<T> => {
  let data = input;
  let twice: readonly Finding[] = [];
  if (typeof input === "string") {
    if (input.length > LONGEST_TEXT)
      return {
        findings: [say("file-too-large", where, { path: where.file ?? "", bytes: input.length, most: LONGEST_TEXT })],
      };
    const parsed = parseJson(input);
    if ("why" in parsed) return { findings: [say("json-broken", where, { what: parsed.why })] };
    data = parsed.value;
    twice = keysTwice(input).map((key) => say("field-twice", { ...where, field: key.field }, key));
  }
  const result = form.safeParse(data);
  const unknown = unknownFields(form, data).flatMap((field) => unknownFinding(field, where));
  if (result.success) {
    const findings = [...first(twice), ...first(unknown)];
    return twice.length > 0 ? { findings } : { value: result.data, findings };
  }
  const wrong = faults(result.error, data).map((fault) => say("field-wrong", { ...where, field: fault.field }, fault));
  return { findings: [...first(twice), ...first(wrong), ...first(unknown)] };
};

const unknownFinding = (unknown: UnknownField, where: Place): Finding[] => {
  const { field, written, meant, given, known } = unknown;
  if (meant !== undefined) return [say("field-misspelt", { ...where, field }, { field, written, meant, given })];
  // Operations that are none have a rule and words of their own, which say what becomes of their lines.
  if (known.includes("partialCutting")) return [];
  return [say("field-unknown", { ...where, field }, { field, written, known })];
};

/** A file that is wrong everywhere is reported as wrong at its first places, and the others are counted. */
const MOST_FAULTS = 200;

const first = (findings: readonly Finding[]): Finding[] =>
  findings
    .slice(0, MOST_FAULTS)
    .map((finding, i) =>
      i === MOST_FAULTS - 1 && findings.length > MOST_FAULTS
        ? { ...finding, more: findings.length - MOST_FAULTS }
        : finding,
    );
