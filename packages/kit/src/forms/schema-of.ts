import { z } from "zod";
import { jobForm } from "./job-form.ts";
import { kitForm } from "./kit-form.ts";
import { orderForm } from "./order-form.ts";
import { shopForm } from "./shop-form.ts";

const FORMS = { shop: shopForm, kit: kitForm, order: orderForm, job: jobForm } as const;

/** The files that have a schema. */
export type FileKind = keyof typeof FORMS;

/** The files that people and programs write or read, each with a form, a schema and a chapter of FORMATS.md. */
export const FILE_KINDS = Object.keys(FORMS) as readonly FileKind[];

/** What a field counts in: its own word, else that of what it wraps (optional, default), of all a tuple's members, of a list's entries. */
const unitOf = (schema: z.core.$ZodTypes): unknown => {
  const own = z.globalRegistry.get(schema)?.["unit"];
  if (own !== undefined) return own;
  const { def } = schema._zod;
  if ("innerType" in def) return unitOf(def.innerType as z.core.$ZodTypes);
  const members = def.type === "tuple" ? def.items : def.type === "array" ? [def.element] : [];
  const units = new Set(members.map((member) => unitOf(member as z.core.$ZodTypes)));
  return units.size === 1 ? [...units][0] : undefined;
};

/**
 * The JSON Schema (2020-12) of a file as people write it: defaults may be left out, fields beyond it are allowed. Strict
 * validators take it, units stand in the descriptions, and what the reader refuses for its form it refuses too.
 *
 * @example
 * await writeFile("order.schema.json", JSON.stringify(schemaOf("order"), null, 2));
 */
export const schemaOf = (file: FileKind): object => {
  const schema = z.toJSONSchema(FORMS[file], {
    io: file === "job" ? "output" : "input",
    override: ({ zodSchema, jsonSchema }) => {
      const { def } = (zodSchema as z.core.$ZodTypes)._zod;
      const unit = jsonSchema["unit"] ?? unitOf(zodSchema as z.core.$ZodTypes);
      // A validator in strict mode refuses keywords it does not know.
      delete jsonSchema["unit"];
      if (typeof unit === "string" && !jsonSchema.description?.endsWith(`[${unit}]`))
        jsonSchema.description = `${jsonSchema.description ?? ""} [${unit}]`.trim();
      // The pattern says all that the format does, and formats are unknown to a bare validator.
      if (jsonSchema.pattern !== undefined) delete jsonSchema.format;
      if (def.type === "tuple" && !def.rest) {
        jsonSchema.minItems = jsonSchema.maxItems = def.items.length;
        jsonSchema.items = false;
      }
    },
  });
  return { $id: `urn:kitforme:schema:${file}`, ...schema };
};
