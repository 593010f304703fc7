import { collectDefaultMetrics, Counter, Gauge, Histogram, Registry } from "prom-client";
import { causeOf } from "./cause.ts";
import type { WorkEvents } from "./context.ts";
import type { CacheLooks } from "./house-memory.ts";
import type { Counts } from "./status.ts";
import { gaugesOfQueue } from "./queue-gauges.ts";
import { STAGES } from "./step.ts";

/** What is asked of the work when somebody looks. */
export interface Watched {
  readonly ready: () => boolean;
  readonly trouble: () => string | undefined;
  /** Orders by state, and when the oldest that has no end was received, in ms; undefined while Redis is away. */
  readonly counts: () => Promise<Counts | undefined>;
  /** How often what was asked for was ready; undefined while nothing works. */
  readonly looks: () => CacheLooks | undefined;
}

/** What a worker counts: from its events, and of the whole queue when somebody looks. */
export interface Metrics {
  /** Counts what a worker reports. */
  readonly sees: Required<Pick<WorkEvents, "onEnd" | "onTrouble" | "onLost" | "onStep">>;
  /** All of it in the text format of Prometheus, and that format's media type. */
  page(): Promise<{ readonly type: string; readonly text: string }>;
}

/** Seconds; a job of the demo takes one or two, one of 200 sheets some minutes. */
const SECONDS = [0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60, 120, 300, 600, 1_800];
const SHARES = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1];

/** Metrics of a worker: what it did since it started, what the whole queue holds, and the process's memory. */
export const metricsOf = ({ ready, counts, looks }: Omit<Watched, "trouble">): Metrics => {
  const register = new Registry();
  collectDefaultMetrics({ register });
  const registers = [register];
  const ended = new Counter({
    name: "kitforme_orders_total",
    help: "Orders by how they ended, by this process",
    labelNames: ["end"],
    registers,
  });
  const retries = new Counter({
    name: "kitforme_retries_total",
    help: "Attempts of this process that failed, or were taken over from one that died, by cause",
    labelNames: ["cause"],
    registers,
  });
  const jobs = new Counter({ name: "kitforme_jobs_total", help: "Job folders finished by this process", registers });
  const sheets = new Counter({
    name: "kitforme_sheets_total",
    help: "Sheets to print of the jobs finished by this process",
    registers,
  });
  const layouts = new Counter({
    name: "kitforme_layouts_total",
    help: "Different sheets of the jobs finished by this process",
    registers,
  });
  const yields = new Histogram({
    name: "kitforme_job_yield",
    help: "Part of a job's sheets that is pieces, 0 to 1",
    buckets: SHARES,
    registers,
  });
  const stages = new Histogram({
    name: "kitforme_stage_seconds",
    help: "Seconds of a job by its stage",
    labelNames: ["stage"],
    buckets: SECONDS,
    registers,
  });
  for (const stage of STAGES) stages.zero({ stage });
  const checks = new Histogram({
    name: "kitforme_check_seconds",
    help: "Seconds of a check of received orders, all that were checked together",
    buckets: SECONDS,
    registers,
  });
  new Counter({
    name: "kitforme_cache_hits_total",
    help: "What was found ready, by cache: frozen kits, prepared pieces, warm threads",
    labelNames: ["cache"],
    registers,
    collect() {
      this.reset();
      for (const [cache, { hits }] of Object.entries(looks() ?? {})) this.inc({ cache }, hits);
    },
  });
  new Counter({
    name: "kitforme_cache_misses_total",
    help: "What had to be made anew, by cache",
    labelNames: ["cache"],
    registers,
    collect() {
      this.reset();
      for (const [cache, { misses }] of Object.entries(looks() ?? {})) this.inc({ cache }, misses);
    },
  });
  new Gauge({
    name: "kitforme_ready",
    help: "1 while Redis is reached and jobs are taken",
    registers,
    collect() {
      this.set(ready() ? 1 : 0);
    },
  });
  const look = gaugesOfQueue(registers, counts);
  return {
    sees: {
      onEnd(_, answers) {
        for (const { end } of answers.values()) ended.inc({ end });
      },
      onTrouble(_, error, again) {
        if (again) retries.inc({ cause: causeOf(error.message) });
      },
      onLost: () => retries.inc({ cause: "claim_lost" }),
      onStep({ step, seconds, takenOver, ...job }) {
        if (takenOver) retries.inc({ cause: "worker_killed" });
        if (step === "check" && seconds !== undefined) checks.observe(seconds);
        if (step === "publish") {
          jobs.inc();
          sheets.inc(job.sheets ?? 0);
          layouts.inc(job.layouts ?? 0);
          if (job.yield !== undefined) yields.observe(job.yield);
        }
        if (STAGES.some((stage) => stage === step) && seconds !== undefined) stages.observe({ stage: step }, seconds);
      },
    },
    async page() {
      await look();
      return { type: register.contentType, text: await register.metrics() };
    },
  };
};
