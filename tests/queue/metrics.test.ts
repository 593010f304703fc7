// What a worker counts, and the dashboard that shows it: every query of the file names a metric that the page has.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { spawnSync } from "node:child_process";
import { CAUSES, causeOf } from "../../packages/queue/src/cause.ts";
import { HouseMemory } from "../../packages/queue/src/house-memory.ts";
import { type Answer, LANES, STATES } from "../../packages/queue/src/keys.ts";
import { metricsOf } from "../../packages/queue/src/metrics.ts";
import { metricsOf as ofServer } from "../../packages/serve/src/metrics.ts";
import { STAGES } from "../../packages/queue/src/step.ts";
import type { Counts } from "../../packages/queue/src/status.ts";
import { describe, expect, it } from "vitest";
import { has } from "../support/oracle.ts";
import { familiesOf, valueOf } from "../support/prometheus.ts";

const counts: Counts = {
  counts: { received: 3, checked: 1, waiting: 2, ganged: 1, making: 1, made: 9, refused: 1, failed: 1, cancelled: 0 },
  gangs: { rush: { waiting: 0, making: 1 }, orders: { waiting: 4, making: 1 }, large: { waiting: 1, making: 0 } },
  oldest: Date.now() - 60_000,
  age: 60_000,
};

/** A worker's metrics after one job of two orders, one of them refused, with every kind of trouble. */
const worked = (now: () => Promise<Counts | undefined> = () => Promise.resolve(counts)) => {
  const metrics = metricsOf({ ready: () => true, counts: now, looks: () => new HouseMemory().looks });
  const { sees } = metrics;
  const orders = ["A-1", "A-2"];
  sees.onStep({ step: "check", orders, refused: 0, seconds: 0.2 });
  sees.onStep({ step: "claim", gang: "g1", orders, takenOver: true });
  for (const stage of STAGES) sees.onStep({ step: stage, gang: "g1", orders, seconds: 2 });
  sees.onStep({ step: "publish", gang: "g1", job: "k1", orders: ["A-1"], sheets: 13, layouts: 2, yield: 0.75 });
  const made: Answer = { end: "made", gang: "g1", job: "k1", folder: "out/k1", findings: [] };
  sees.onEnd(
    "g1",
    new Map<string, Answer>([
      ["A-1", made],
      ["A-2", { end: "refused", gang: "g1", findings: [] }],
    ]),
  );
  sees.onTrouble("g1", new Error("out/x: the disk is full (ENOSPC)"), true);
  sees.onTrouble("g1", new Error("a bug of ours"), false);
  sees.onLost("g1");
  return metrics;
};

/** A server's page after one request and one webhook. */
const served = async (): Promise<string> => {
  const redis = { status: "away" } as unknown as Parameters<typeof ofServer>[0]["redis"];
  const metrics = ofServer({ redis, keys: { prefix: "none" } }, { ready: () => true, listeners: () => 2 });
  metrics.sees.onRequest({ method: "GET", route: "/orders", status: 200, ms: 3 });
  metrics.sees.onWebhook({ order: "A-1", state: "made" }, 1, true);
  return (await metrics.page()).text;
};

const valuesOf = (text: string): ReadonlyMap<string, number> =>
  new Map(
    text
      .split("\n")
      .filter((line) => line !== "" && !line.startsWith("#"))
      .map((line) => [line.slice(0, line.lastIndexOf(" ")), Number(line.slice(line.lastIndexOf(" ") + 1))]),
  );

describe("the metrics page", () => {
  it("has orders, depth, sheets, yield, seconds by stage, retries by cause, caches and memory", async () => {
    const { type, text } = await worked().page();
    expect(type).toMatch(/^text\/plain; version=0\.0\.4/); // Prometheus text exposition format
    const values = valuesOf(text);
    expect(
      Object.fromEntries([...values].filter(([name]) => /^kitforme_(?!.*_bucket|cache|oldest)/.test(name))),
    ).toEqual({
      'kitforme_orders_total{end="made"}': 1,
      'kitforme_orders_total{end="refused"}': 1,
      'kitforme_retries_total{cause="worker_killed"}': 1,
      'kitforme_retries_total{cause="disk_full"}': 1,
      'kitforme_retries_total{cause="claim_lost"}': 1,
      kitforme_jobs_total: 1,
      kitforme_sheets_total: 13,
      kitforme_layouts_total: 2,
      kitforme_job_yield_sum: 0.75,
      kitforme_job_yield_count: 1,
      kitforme_check_seconds_sum: 0.2,
      kitforme_check_seconds_count: 1,
      ...Object.fromEntries(
        STAGES.flatMap((stage) => [
          [`kitforme_stage_seconds_sum{stage="${stage}"}`, 2],
          [`kitforme_stage_seconds_count{stage="${stage}"}`, 1],
        ]),
      ),
      kitforme_ready: 1,
      kitforme_queue_paused: 0,
      ...Object.fromEntries(STATES.map((state) => [`kitforme_orders{state="${state}"}`, counts.counts[state]])),
      ...Object.fromEntries(
        LANES.flatMap((lane) => [
          [`kitforme_queue_depth{lane="${lane}",state="waiting"}`, counts.gangs[lane].waiting],
          [`kitforme_queue_depth{lane="${lane}",state="making"}`, counts.gangs[lane].making],
        ]),
      ),
    });
    expect(values.get("kitforme_oldest_order_seconds")).toBeGreaterThanOrEqual(60);
    expect(values.get('kitforme_cache_hits_total{cache="frozen"}')).toBeDefined();
    expect(values.get("process_resident_memory_bytes")).toBeGreaterThan(10 << 20);
  });

  it("is read by another's parser of the format: every metric has help, a type and values (parse-prometheus-text-format)", async () => {
    const page = familiesOf((await worked().page()).text);
    const ours = [...page.keys()].filter((name) => name.startsWith("kitforme_"));
    expect(ours.length).toBeGreaterThan(12);
    for (const name of ours)
      expect([page.get(name)?.help !== "", page.get(name)?.metrics.length !== 0], name).toEqual([true, true]);
    expect(Object.fromEntries(ours.map((name) => [name, page.get(name)?.type]))).toEqual(
      Object.fromEntries(
        ours.map((name) => [
          name,
          name.endsWith("_total")
            ? "COUNTER"
            : /_(seconds|yield)$/.test(name) && !/oldest/.test(name)
              ? "HISTOGRAM"
              : "GAUGE",
        ]),
      ),
    );
    expect(valueOf(page, "kitforme_orders", { state: "checked" })).toBe(1);
    expect(valueOf(page, "kitforme_queue_depth", { lane: "orders", state: "waiting" })).toBe(4);
    // One with labels is not told apart by this parser: the test above does.
    expect(page.get("kitforme_check_seconds")?.metrics[0]).toMatchObject({
      count: "1",
      sum: "0.2",
      buckets: { "0.1": "0", "0.25": "1", "+Inf": "1" },
    });
    expect(valueOf(page, "kitforme_sheets_total")).toBe(13);
  });

  it.runIf(has("promtool"))("passes promtool check metrics, as the server's does", async () => {
    for (const text of [(await worked().page()).text, await served()]) {
      const { status, stderr } = spawnSync("promtool", ["check", "metrics"], { input: text, encoding: "utf8" });
      // Its own rules are for names of Node's metrics too, which are not ours to choose.
      expect([status, stderr.split("\n").filter((line) => line.startsWith("kitforme"))]).toEqual([status, []]);
      expect(stderr).not.toMatch(/error while linting|parse/i);
    }
  });

  it("has no numbers of a queue that is away, rather than old ones", async () => {
    let away = false;
    const metrics = worked(() => Promise.resolve(away ? undefined : counts));
    expect((await metrics.page()).text).toContain('kitforme_orders{state="made"} 9');
    away = true;
    const { text } = await metrics.page();
    expect(text).not.toMatch(/^kitforme_(orders|queue_depth)\{[^}]*state=/m);
    expect(text).not.toMatch(/^kitforme_oldest_order_seconds \d/m);
    expect(text).toContain("kitforme_jobs_total 1");
  });

  it("counts retries by what the system calls the trouble", () => {
    const words: Record<string, string> = {
      "/out/a: the disk is full (ENOSPC)": "disk_full",
      "/out/a: the disk is mounted read-only (EROFS)": "disk_read_only",
      "folder /kits is empty: is its share mounted?": "disk_away",
      "/out/a (EIO)": "disk_away",
      "the system twice ended a process that opens files, which held 192 MiB: this machine or its container is short of memory.":
        "memory_short",
      "OOM command not allowed when used memory > 'maxmemory'.": "redis_full",
      "connect ECONNREFUSED 127.0.0.1:6379": "redis_away",
      "3 processes died over it; its orders are made one by one": "worker_killed",
      "something else": "other",
    };
    for (const [said, cause] of Object.entries(words)) expect(causeOf(said), said).toBe(cause);
    expect(new Set([...Object.values(words), "claim_lost"])).toEqual(new Set(CAUSES));
  });
});

interface Panel {
  readonly title: string;
  readonly gridPos: { readonly x: number; readonly y: number; readonly w: number; readonly h: number };
  readonly targets: readonly { readonly expr: string }[];
}

describe("the dashboard", () => {
  const house = join(import.meta.dirname, "../..");
  const { panels } = JSON.parse(readFileSync(join(house, "worker/duty/dashboard.json"), "utf8")) as { panels: Panel[] };
  const exprs = panels.flatMap(({ targets }) => targets.map(({ expr }) => expr));

  it("is in the command's package", () => {
    const { files } = JSON.parse(readFileSync(join(house, "worker/package.json"), "utf8")) as { files: string[] };
    expect(files).toContain("duty");
  });

  it("asks for metrics, labels and values that there are, and shows every metric of ours", async () => {
    const page = [...valuesOf(`${(await worked().page()).text}\n${await served()}`).keys()];
    const labelsOf = (metric: string): Map<string, Set<string>> => {
      const labels = new Map<string, Set<string>>([
        // Given by who reads the page.
        ["job", new Set()],
        ["instance", new Set()],
      ]);
      for (const series of page.filter((s) => s === metric || s.startsWith(`${metric}{`)))
        for (const [, label = "", value = ""] of series.matchAll(/(\w+)="([^"]*)"/g))
          labels.set(label, (labels.get(label) ?? new Set()).add(value));
      return labels;
    };
    const asked = new Set<string>();
    for (const expr of exprs) {
      const metrics = [...expr.matchAll(/\b((?:kitforme|process|nodejs)_\w+)\{([^}]*)\}/g)];
      expect(metrics.length, expr).toBeGreaterThan(0);
      const grouped = [...expr.matchAll(/\bby \(([^)]*)\)/g)].flatMap(([, names = ""]) => names.split(", "));
      for (const [, metric = "", selector = ""] of metrics) {
        asked.add(metric.replace(/_(bucket|sum|count)$/, ""));
        expect(
          page.some((s) => s === metric || s.startsWith(`${metric}{`)),
          `${metric} of ${expr}`,
        ).toBe(true);
        const labels = labelsOf(metric);
        for (const name of grouped) expect([...labels.keys()], expr).toContain(name);
        for (const [, label = "", value = ""] of selector.matchAll(/(\w+)=~?"([^"]*)"/g)) {
          expect([...labels.keys()], expr).toContain(label);
          if (label !== "job")
            for (const one of value.split("|")) expect([...(labels.get(label) ?? [])], expr).toContain(one);
        }
      }
    }
    const ours = new Set(page.flatMap((s) => /^kitforme_\w+/.exec(s)?.[0].replace(/_(bucket|sum|count)$/, "") ?? []));
    expect([...ours].filter((metric) => !asked.has(metric))).toEqual([]);
  });

  it("lays no panel over another", () => {
    for (const [i, { title, gridPos: a }] of panels.entries())
      for (const { title: other, gridPos: b } of panels.slice(i + 1)) {
        const apart = a.x + a.w <= b.x || b.x + b.w <= a.x || a.y + a.h <= b.y || b.y + b.h <= a.y;
        expect(apart, `${title} and ${other}`).toBe(true);
      }
    for (const { title, gridPos } of panels) expect(gridPos.x + gridPos.w, title).toBeLessThanOrEqual(24);
  });
});
