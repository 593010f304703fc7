// Solid device RGB in content streams, and the same operators in the inks of a press.
import type { PressColour } from "../../colour/profile.ts";
import { samplesToPress } from "../../colour/to-press.ts";
import type { Operation } from "./content.ts";
import type { Scope } from "./anatomy.ts";

/** An sRGB colour of 8 bits, and how it is written in CMYK. */
type Key = string;

const keyOf = (operands: readonly (number | string)[]): Key =>
  operands.map((share) => Math.round(Math.min(1, Math.max(0, Number(share))) * 255)).join(" ");

/**
 * Operations that set a solid device RGB colour. `sc` and its kin count where the stream itself has chosen /DeviceRGB; the
 * choice is part of what q saves and Q brings back.
 */
const solids = (
  operations: readonly Operation[],
): { readonly operation: Operation; readonly as: "k" | "K" | "cs" | "CS" }[] => {
  const found: { operation: Operation; as: "k" | "K" | "cs" | "CS" }[] = [];
  let now = { fill: false, stroke: false };
  const saved: (typeof now)[] = [];
  for (const operation of operations) {
    const { operator, operands } = operation;
    const three = operands.length === 3 && operands.every((o) => typeof o === "number");
    if (operator === "q") saved.push({ ...now });
    else if (operator === "Q") now = saved.pop() ?? { fill: false, stroke: false };
    else if (operator === "rg" && three) found.push({ operation, as: "k" });
    else if (operator === "RG" && three) found.push({ operation, as: "K" });
    else if (operator === "cs" || operator === "CS") {
      const rgb = operands[0] === "/DeviceRGB";
      now = operator === "cs" ? { ...now, fill: rgb } : { ...now, stroke: rgb };
      if (rgb) found.push({ operation, as: operator });
    } else if (/^scn?$/.test(operator) && now.fill && three) found.push({ operation, as: "k" });
    else if (/^SCN?$/.test(operator) && now.stroke && three) found.push({ operation, as: "K" });
    if (/^(?:k|g|rg)$/.test(operator)) now = { ...now, fill: false };
    if (/^(?:K|G|RG)$/.test(operator)) now = { ...now, stroke: false };
  }
  return found;
};

/** Colours of the solids in a scope. */
export const solidsIn = ({ operations }: Scope): Key[] =>
  solids(operations).flatMap(({ operation, as }) => (as === "k" || as === "K" ? [keyOf(operation.operands)] : []));

/** All colours through the press's profile at once, black to black ink alone. */
export async function inksOf(keys: readonly Key[], press: PressColour): Promise<ReadonlyMap<Key, string>> {
  const distinct = [...new Set(keys)];
  if (distinct.length === 0) return new Map();
  const data = Uint8Array.from(distinct.flatMap((key) => key.split(" ").map(Number)));
  const pixels = { width: distinct.length, height: 1, space: "rgb", alpha: false, data } as const;
  const { data: inks } = await samplesToPress(pixels, press, { pureBlack: true });
  return new Map(
    distinct.map((key, at) => [
      key,
      [...inks.subarray(4 * at, 4 * at + 4)].map((ink) => String(Number((ink / 255).toFixed(4)))).join(" "),
    ]),
  );
}

/** The operations of a stream that are written anew. A choice of /DeviceRGB becomes one of /DeviceCMYK, in black as both begin. */
export const withInks = (
  operations: readonly Operation[],
  inks: ReadonlyMap<Key, string>,
): ReadonlyMap<Operation, string> =>
  new Map(
    inks.size === 0
      ? []
      : solids(operations).map(({ operation, as }) => [
          operation,
          as === "k" || as === "K" ? `${inks.get(keyOf(operation.operands))} ${as}` : `/DeviceCMYK ${as}`,
        ]),
  );
