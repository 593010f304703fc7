import { formatOf, kindOf } from "./artwork-format.ts";
import type { Assembly } from "./kit.ts";
import { ledger } from "./ledger.ts";
import type { Answer } from "./problem.ts";
import { fileOf, type ReadFile } from "./file-of.ts";

/** Bytes of the largest file of steps that is opened: a page of pictures at 300 ppi has one or two million. */
const LARGEST = 64 * 2 ** 20;

/** Opens the PDF of a kit's steps, wherever the caller wants strangers' files to be opened. */
export type OpenAssembly = (request: {
  readonly kit: string;
  readonly file: string;
  readonly bytes: Uint8Array;
}) => Promise<Answer<Assembly>>;

/** The designer's assembly pages, or what is wrong with them. Here only the file is judged; its pages by `open`. */
export const readAssembly = async (
  kit: string,
  file: string,
  read: ReadFile,
  open: OpenAssembly | undefined,
): Promise<Answer<Assembly>> => {
  const report = ledger({ kit, file: "kit.json" });
  const field = "assembly";
  const bytes = await fileOf(file, field, read, report);
  if (!bytes) return { findings: report.findings() };
  const where = { kit, file, field };
  if (formatOf(bytes) !== "pdf") report.say("assembly-no-pdf", { file, kind: formatOf(bytes) ?? kindOf(bytes) }, where);
  else if (bytes.length > LARGEST)
    report.say("file-too-large", { path: file, bytes: bytes.length, most: LARGEST }, where);
  else if (open) return open({ kit, file, bytes });
  return { findings: report.findings() };
};
