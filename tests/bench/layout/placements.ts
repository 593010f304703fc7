// Checksums of fixed jobs: a change that was to make the search faster, or its files tidier, and moves a piece is seen at once.
// Efforts are counted in moves, so that the sums are the same on every machine.
import { createHash } from "node:crypto";
import { gang, type GangRequest } from "@kitforme/layout";
import { layStrip, pack } from "@kitforme/nest";
import { kitCopies, kitPieces, kitSheet } from "../../layout/runs/drawn-kits.ts";
import { anyRequest } from "../../layout/runs/drawn-orders.ts";
import { anyJob } from "../../nest/drawn.ts";
import { type Bench, cpuSeconds, type Figure } from "./bench.ts";

const kits = (pieces: number, kinds: number, effort: GangRequest["effort"], newLayout: number): GangRequest => ({
  footprints: kitPieces(kinds, 1),
  fields: [kitSheet()],
  demands: kitCopies(kinds, pieces, 1).map((copies, k) => ({
    id: `demand ${k}`,
    footprint: k,
    copies,
    personal: false,
    groups: [],
  })),
  setup: { sheetChange: 1, newLayout },
  overs: { sheets: 0, share: 0 },
  effort,
  threads: 2,
});

/** Sweeps of the strip search. */
const SWEEPS = 400;

const strip = async (): Promise<unknown> => {
  const footprints = kitPieces(8, 3);
  let sweeps = 0;
  return layStrip({
    footprints,
    pieces: footprints.flatMap((_, k) => [k, k, k]),
    height: 320_000,
    seed: 1,
    done: () => ++sweeps / SWEEPS,
  });
};

const JOBS: Record<string, () => Promise<unknown>> = {
  "100 random orders": async () => {
    const plans: unknown[] = [];
    for (let k = 0; k < 100; k++) plans.push(await gang(anyRequest(500_000 + k)));
    return plans;
  },
  "100 random sheets": async () => {
    const packed: unknown[] = [];
    for (let k = 0; k < 100; k++) {
      const { footprints, field, items } = anyJob(700_000 + k);
      packed.push(await pack({ footprints, fields: [field], items, effort: "quick", seed: k }));
    }
    return packed;
  },
  "40 kit pieces at quick": () => gang(kits(40, 12, "quick", 20)),
  "50 kit pieces at normal": () => gang(kits(50, 12, "normal", 20)),
  "120 kit pieces at normal with layouts free": () => gang(kits(120, 16, "normal", 0)),
  "500 kit pieces at quick": () => gang(kits(500, 60, "quick", 20)),
  strip,
};

/** Twelve digits of the layout's SHA-256 as a number. */
const checksum = (value: unknown): number =>
  Number.parseInt(createHash("sha256").update(JSON.stringify(value)).digest("hex").slice(0, 12), 16);

export const bench: Bench = {
  name: "placements",
  takes: () => false,
  one: () => Promise.reject(new Error("placements: takes no instance")),
  all: async ({ names, say }) => {
    const figures: Figure[] = [];
    const left: string[] = [];
    for (const [name, job] of Object.entries(JOBS)) {
      if (names.length > 0 && !names.includes(name)) {
        left.push(`placements ${name}`);
        continue;
      }
      const since = cpuSeconds();
      const sum = checksum(await job());
      const seconds = cpuSeconds() - since;
      say(`placements ${name}: ${sum.toString(16).padStart(12, "0")}, ${seconds.toFixed(1)} s`);
      figures.push(
        { name: `placements ${name}, checksum`, value: sum, unit: "sum" },
        { name: `placements ${name}, CPU`, value: seconds, unit: "s" },
      );
    }
    return { figures, left };
  },
};
