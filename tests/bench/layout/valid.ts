// Random jobs of every sort (openings, several parts, free turns, grain, keep-outs, clearances): breaches counted by
// verifyForme and by jsts. As many jobs as the CPU seconds allow, at most 10,000.
import { breachesOf, pack } from "@kitforme/nest";
import { anyJob } from "../../nest/drawn.ts";
import { objections } from "../../nest/second-opinion.ts";
import { type Bench, cpuSeconds } from "./bench.ts";

const JOBS = 10_000;

export const bench: Bench = {
  name: "valid",
  takes: () => false,
  one: () => Promise.reject(new Error("valid: takes no instance")),
  all: async ({ seconds, seed, say }) => {
    const since = cpuSeconds();
    let jobs = 0;
    let breaches = 0;
    let doubted = 0;
    let pieces = 0;
    let again = 0;
    for (; jobs < JOBS && cpuSeconds() - since < seconds; jobs++) {
      const { footprints, field, items } = anyJob(seed * 100_000 + jobs);
      const { sheets, mended } = await pack({ footprints, fields: [field], items, effort: "quick", seed: jobs });
      again += mended;
      for (const sheet of sheets) {
        const placed = sheet.placements.map((p) => ({ ...p, footprint: items[p.key]?.footprint ?? -1 }));
        pieces += placed.length;
        const own = breachesOf(placed, footprints, field);
        const other = objections(placed, footprints, field);
        breaches += own.length;
        doubted += other.length;
        if (own.length + other.length > 0) say(`job ${seed * 100_000 + jobs}: ${[...own, ...other].join("; ")}`);
      }
    }
    say(`valid: ${jobs} jobs, ${pieces} pieces`);
    return {
      figures: [
        { name: "valid, random jobs", value: jobs, unit: "jobs" },
        { name: "valid, breaches by verifyForme", value: breaches, unit: "breaches", goal: 0, met: breaches === 0 },
        { name: "valid, pieces the proof sent back", value: again, unit: "pieces", goal: 0, met: again === 0 },
        { name: "valid, breaches by jsts", value: doubted, unit: "breaches", goal: 0, met: doubted === 0 },
      ],
      left: jobs < JOBS ? [`valid: jobs ${jobs + 1} to ${JOBS}`] : [],
    };
  },
};
