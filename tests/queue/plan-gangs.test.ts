// Which waiting orders are made together, and when: decided by a function, so by the clock of the test.
import { type GangRules, planGangs, type Waiting } from "@kitforme/queue";
import { describe, expect, it } from "vitest";

const RULES: GangRules = { fill: 0.6, wait: 240, lead: 24 };
const HOUR = 3600_000;
const NOW = 1_000 * HOUR;

const order = (name: string, card: number, more: Partial<Waiting> = {}): Waiting => ({
  name,
  call: `c-${name}`,
  effort: "normal",
  shop: "s",
  kits: ["hash/tag"],
  sheets: { card },
  rush: false,
  now: false,
  since: NOW - 60_000,
  ...more,
});
const plan = (
  waiting: readonly Waiting[],
  more: { now?: number; idle?: boolean; rules?: GangRules | undefined } = {},
) =>
  planGangs(waiting, () => ("rules" in more ? more.rules : RULES), {
    now: more.now ?? NOW,
    settle: 5_000,
    idle: more.idle ?? true,
  });
const names = (closed: ReturnType<typeof plan>["close"]) =>
  closed.map((c) => [c.closed, ...c.orders.map((o) => o.name)]);

describe("a gang closes", () => {
  it("when its last sheet is filled, and says until then what it lacks and how long it waits at most", () => {
    expect(plan([order("A", 0.2)])).toMatchObject({
      close: [],
      pools: [{ orders: ["A"], lacks: expect.closeTo(0.4) as number, until: NOW - 60_000 + 4 * HOUR }],
    });
    expect(names(plan([order("A", 0.2), order("B", 0.4)]).close)).toEqual([["fill", "A", "B"]]);
    // Its last sheet: one sheet and a tenth is a gang that waits.
    expect(plan([order("A", 0.7), order("B", 0.4)]).close).toEqual([]);
    expect(plan([order("A", 0.59)]).close).toEqual([]);
  });

  it("not for its fill while others are on their way or no worker is free", () => {
    const filled = [order("A", 0.9)];
    expect(plan([order("A", 0.9, { since: NOW - 4_900 })]).close).toEqual([]);
    expect(plan(filled, { idle: false }).close).toEqual([]);
    expect(names(plan(filled).close)).toEqual([["fill", "A"]]);
  });

  it("when its oldest has waited, or one is due", () => {
    const old = order("A", 0.1, { since: NOW - 4 * HOUR });
    expect(names(plan([order("B", 0.1), old], { idle: false }).close)).toEqual([["wait", "A", "B"]]);
    const due = order("D", 0.1, { due: NOW + 24 * HOUR });
    expect(names(plan([order("B", 0.1), due], { idle: false }).close)).toEqual([["due", "D", "B"]]);
    expect(plan([order("D", 0.1, { due: NOW + 24 * HOUR + 1 })]).close).toEqual([]);
  });

  it("at once for rush, --now and a large order, each apart from the rest", () => {
    const { close, pools } = plan([
      order("R", 0.1, { rush: true }),
      order("N1", 0.1, { now: true, call: "c" }),
      order("N2", 0.1, { now: true, call: "c" }),
      order("L", 300),
      order("A", 0.1),
    ]);
    expect(names(close)).toEqual([
      ["rush", "R"],
      ["large", "L"],
      ["now", "N1", "N2"],
    ]);
    expect(close.map((c) => c.lane)).toEqual(["rush", "large", "orders"]);
    expect(pools.map((p) => p.orders)).toEqual([["A"]]);
  });

  it("with the submission when the shop has no rules", () => {
    const both = [order("A", 0.1, { call: "c" }), order("B", 0.1, { call: "c" }), order("C", 0.1)];
    expect(names(plan(both, { rules: undefined }).close)).toEqual([
      ["call", "A", "B"],
      ["call", "C"],
    ]);
  });
});

describe("a gang", () => {
  it("never has two versions of one kit, nor two shops or efforts", () => {
    const old = order("A", 0.9);
    for (const other of [{ kits: ["other/tag"] }, { shop: "t" }, { effort: "best" }])
      expect(names(plan([old, order("B", 0.9, other)]).close)).toEqual([
        ["fill", "A"],
        ["fill", "B"],
      ]);
  });

  it("waits only for those that share a stock with it", () => {
    const { close, pools } = plan([
      order("A", 0.9),
      order("B", 0, { sheets: { board: 0.1 } }),
      order("C", 0, { sheets: { board: 0.2, grey: 0.1 } }),
    ]);
    expect(names(close)).toEqual([["fill", "A"]]);
    expect(pools.map((p) => p.orders)).toEqual([["B", "C"]]);
  });

  it("stays in proportion: what is more than one job takes goes on in the next, the due ones first", () => {
    const many = Array.from({ length: 700 }, (_, i) => order(`O${String(i).padStart(3, "0")}`, 0.01));
    const first = plan([...many, order("DUE", 0.01, { due: NOW + 100 * HOUR })]).close;
    expect(first.map((c) => [c.closed, c.orders.length, c.orders[0]?.name])).toEqual([["full", 300, "DUE"]]);
  });

  it("is queued by its earliest due date, those without one last, rush first", () => {
    const day = 24 * HOUR;
    const at = (due: number) => plan([order("A", 0.9, { due })], { now: due }).close[0]?.priority as number;
    const none = plan([order("A", 0.9)]).close[0]?.priority as number;
    const rush = plan([order("A", 0.9, { rush: true, due: 9e9 })]).close[0]?.priority as number;
    expect(rush).toBeLessThan(at(40 * day));
    expect(at(40 * day)).toBeLessThan(at(41 * day));
    expect(at(41 * day)).toBeLessThan(none);
    expect(none).toBeLessThan(2 ** 21);
  });
});

it("is decided in as many steps an order for ten thousand that wait as for a thousand", () => {
  const steps = (n: number): number => {
    let reads = 0;
    const all = Array.from({ length: n }, (_, i) => {
      const sheets = { [`stock-${i % 3}`]: 0.001 };
      const order = {
        name: `O-${i}`,
        call: "c",
        effort: "normal",
        shop: "s",
        kits: ["h/tag"],
        rush: false,
        now: false,
      };
      return Object.defineProperty({ ...order, since: i }, "sheets", { get: () => (reads++, sheets) });
    });
    const rules = () => ({ fill: 0.6, wait: 1e9, lead: 24 });
    const before = performance.now();
    planGangs(all as unknown as Waiting[], rules, { now: 1e6, settle: 5_000, idle: true });
    // Generous against a busy machine: it was five seconds when every order copied those before it.
    expect(performance.now() - before).toBeLessThan(2_000);
    return reads / n;
  };
  expect(steps(10_000)).toBeLessThan(1.5 * steps(1_000));
});
