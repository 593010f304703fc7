// 300 kit pieces with three millimetres of bleed on 320 x 450: sheets of ours, of their bounding boxes by the same engine, and
// the area bound. Layouts cost nothing here: sheets alone count.
import { gang, type GangRequest } from "@kitforme/layout";
import { outlinesArea } from "@kitforme/geometry";
import { boxed, kitCopies, kitPieces, kitSheet } from "../../layout/runs/drawn-kits.ts";
import { faultsOf } from "../../layout/runs/drawn-orders.ts";
import { type Bench, cpuSeconds, type Figure } from "./bench.ts";

const KINDS = 24;
const PIECES = 300;
/**
 * Sheets at normal for the pieces of seed 1. The linear programme over all sheets that a million moves found, three times what
 * normal grants, answers 24.0 with fractions: fewer than 25 whole sheets were not to be expected.
 */
const GOAL = 25;

const request = (
  footprints: GangRequest["footprints"],
  copies: readonly number[],
  effort: GangRequest["effort"],
): GangRequest => ({
  footprints,
  fields: [kitSheet()],
  demands: copies.map((n, k) => ({ id: `demand ${k}`, footprint: k, copies: n, personal: false, groups: [] })),
  setup: { sheetChange: 1, newLayout: 0 },
  overs: { sheets: 0, share: 0 },
  effort,
  threads: 2,
});

export const bench: Bench = {
  name: "kits",
  takes: () => false,
  one: () => Promise.reject(new Error("kits: no instances of this form")),
  all: async ({ say, seed }) => {
    const footprints = kitPieces(KINDS, seed);
    const copies = kitCopies(KINDS, PIECES, seed);
    const field = kitSheet();
    const room = field.bounds.width * field.bounds.height - field.keepOuts.length * 81e6;
    const area = copies.reduce((sum, n, k) => sum + n * outlinesArea(footprints[k]?.shape ?? []), 0);
    const bound = Math.ceil(area / room);
    const sheetsOf = async (shapes: GangRequest["footprints"], effort: GangRequest["effort"], name: string) => {
      const since = cpuSeconds();
      const asked = request(shapes, copies, effort);
      const plan = await gang(asked);
      const faults = faultsOf(asked, plan);
      if (faults.length > 0 || plan.leftovers.length > 0) throw new Error(`kits ${name}: ${faults[0]}`);
      const sheets = plan.formes.reduce((n, f) => n + f.run, 0);
      const seconds = cpuSeconds() - since;
      say(`${name}, ${effort}: ${sheets} sheets, area bound ${bound}, ${seconds.toFixed(1)} s`);
      return { sheets, seconds };
    };
    const boxes = await sheetsOf(boxed(footprints), "normal", "bounding boxes");
    const first = await sheetsOf(footprints, "quick", "true shapes");
    const ours = await sheetsOf(footprints, "normal", "true shapes");
    const figures: Figure[] = [
      { name: "kits 300 pieces, area bound", value: bound, unit: "sheets" },
      { name: "kits 300 pieces, quick", value: first.sheets, unit: "sheets" },
      {
        name: "kits 300 pieces against bounding boxes",
        value: ours.sheets,
        unit: "sheets",
        peer: boxes.sheets,
        ratio: ours.sheets / boxes.sheets,
      },
      {
        name: "kits 300 pieces, normal, against the area bound",
        value: ours.sheets,
        unit: "sheets",
        peer: bound,
        ratio: ours.sheets / bound,
        ...(seed === 1 ? { goal: GOAL, met: ours.sheets <= GOAL } : {}),
      },
      { name: "kits 300 pieces, CPU", value: ours.seconds, unit: "s" },
    ];
    return { figures, left: [] };
  },
};
