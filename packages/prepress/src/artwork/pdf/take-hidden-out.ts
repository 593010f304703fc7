import { PDFDict, PDFName, PDFStream } from "../../pdf-lib.ts";
import { type Operation, rewritten } from "./content.ts";
import { isHidden } from "./hidden.ts";

const name = (key: string): PDFName => PDFName.of(key);
const PAINTS = new Set(["f", "F", "f*", "B", "B*", "b", "b*", "S", "s"]);
const SHOWS = new Set(["Tj", "TJ", "'", '"']);

/**
 * A content stream that paints nothing of hidden layers. Only what paints is taken out: colours, positions and clips set
 * inside a hidden layer hold beyond it (ISO 32000, 8.11.3.2). Letters stay as invisible ones, since they move the next.
 */
export const takeHiddenOut = (
  content: Uint8Array,
  operations: readonly Operation[],
  resources: PDFDict,
): Uint8Array => {
  const layers = resources.lookupMaybe(name("Properties"), PDFDict);
  const objects = resources.lookupMaybe(name("XObject"), PDFDict);
  const nested: boolean[] = [];
  let hidden = 0;
  let mode = 0;
  const saved: number[] = [];
  return rewritten(content, operations, ({ operator, operands, from, to }) => {
    if (operator === "BMC" || operator === "BDC") {
      const named = operator === "BDC" && operands[0] === "/OC" && operands.length === 2 ? String(operands[1]) : "";
      const hides = named.startsWith("/") && isHidden(layers?.lookup(name(named.slice(1))));
      nested.push(hides);
      if (hides) hidden++;
    } else if (operator === "EMC") {
      if (nested.pop()) hidden--;
    } else if (operator === "q") saved.push(mode);
    else if (operator === "Q") mode = saved.pop() ?? 0;
    else if (operator === "Tr") mode = Number(operands[0]) || 0;
    else if (operator === "Do") {
      const object = objects?.lookup(name(String(operands[0]).slice(1)));
      if (hidden > 0 || (object instanceof PDFStream && isHidden(object.dict.lookup(name("OC"))))) return "";
    } else if (hidden === 0) return undefined;
    else if (PAINTS.has(operator)) return "n";
    else if (operator === "sh" || operator === "BI") return "";
    else if (SHOWS.has(operator)) {
      const show = Buffer.from(content.subarray(from, to)).toString("latin1");
      return `${mode >= 4 ? 7 : 3} Tr ${show} ${mode} Tr`;
    }
    return undefined;
  });
};
