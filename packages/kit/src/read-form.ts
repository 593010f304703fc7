import type { z } from "zod";
import { faults } from "./forms/fault.ts";
import { nearMisses } from "./forms/near-misses.ts";
import type { Answer, Finding, Place } from "./problem.ts";
import { parseJson } from "./parse-json.ts";
import { say } from "./say.ts";

/** Longest JSON text that is read, in characters. */
const LONGEST_TEXT = 32 * 1024 * 1024;

/** A JSON text or a value that was one, believed to have the form, or every fault of it with its JSON path. Never throws. */
export const readForm = <T>(form: z.ZodType<T>, input: unknown, where: Place): Answer<T> => {
  let data = input;
  if (typeof input === "string") {
    if (input.length > LONGEST_TEXT)
      return {
        findings: [say("file-too-large", where, { path: where.file ?? "", bytes: input.length, most: LONGEST_TEXT })],
      };
    const parsed = parseJson(input);
    if ("why" in parsed) return { findings: [say("json-broken", where, { what: parsed.why })] };
    data = parsed.value;
  }
  const result = form.safeParse(data);
  if (result.success) {
    const misses = nearMisses(form, data).slice(0, MOST_FAULTS);
    return {
      value: result.data,
      findings: misses.map((miss) => say("field-misspelt", { ...where, field: miss.field }, miss)),
    };
  }
  const findings: Finding[] = faults(result.error, data).map((fault) =>
    say("field-wrong", { ...where, field: fault.field }, fault),
  );
  return { findings: findings.length > MOST_FAULTS ? findings.slice(0, MOST_FAULTS) : findings };
};

/** A file that is wrong everywhere is told as wrong at its first places. */
const MOST_FAULTS = 200;
