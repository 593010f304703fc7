// Writes FORMATS.md and the JSON Schema files from the forms: npx tsx packages/kit/formats.ts
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { FILE_KINDS, formatsReference, schemaOf } from "@kitforme/kit";

const folder = join(import.meta.dirname, "schemas");
mkdirSync(folder, { recursive: true });
writeFileSync(join(import.meta.dirname, "FORMATS.md"), formatsReference());
for (const file of FILE_KINDS)
  writeFileSync(join(folder, `${file}.schema.json`), `${JSON.stringify(schemaOf(file), null, 2)}\n`);
