// Writes openapi.json from the operations and forms: npx tsx --conditions=@kitforme/source packages/serve/openapi.ts
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { openapi } from "@kitforme/serve";

writeFileSync(join(import.meta.dirname, "openapi.json"), `${JSON.stringify(openapi(), null, 2)}\n`);
