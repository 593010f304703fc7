// Which waiting orders are made together, and when: a function of what waits and of the time, nothing else.
import type { Lane } from "./keys.ts";

/** `gang` of shop.json: a gang closes when its last sheet is filled to `fill`, when its oldest order has waited `wait` minutes, or when one is due within `lead` hours. */
export interface GangRules {
  readonly fill: number;
  readonly wait: number;
  readonly lead: number;
}

/** An order that waits to be ganged. Times in ms since 1970. */
export interface Waiting {
  readonly name: string;
  /** The submission it came with. */
  readonly call: string;
  readonly effort: string;
  readonly shop: string;
  /** Frozen kits, `<hash>/<folder>`. */
  readonly kits: readonly string[];
  /** Sheets it takes of each stock, by area. */
  readonly sheets: Readonly<Record<string, number>>;
  readonly due?: number;
  readonly rush: boolean;
  readonly now: boolean;
  /** Something made is printed again: what, in words. It is a job by itself. */
  readonly again?: string;
  /** When it was received. */
  readonly since: number;
}

/** Orders that are made together, and why they are. */
export interface Closed {
  readonly orders: readonly Waiting[];
  readonly closed: "rush" | "again" | "now" | "call" | "due" | "wait" | "full" | "large" | "fill";
  readonly why: string;
  readonly lane: Lane;
  /** Lower is earlier: days of the earliest due date; orders without one come last. */
  readonly priority: number;
}

/** What a pool of orders still waits for. */
export interface Pool {
  readonly orders: readonly string[];
  /** Sheets that are missing to a filled last sheet, over all its stocks. */
  readonly lacks: number;
  /** When it closes at the latest. */
  readonly until: number;
}

/** The circumstances in which gangs are planned. Times in ms. */
export interface Moment {
  readonly now: number;
  /** Other orders may be on their way: a gang closes for its fill only when nothing came for so long, ms. */
  readonly settle: number;
  /** Nothing that is ganged waits for a worker: then closing is no gain, and the gang goes on filling. */
  readonly idle: boolean;
}

/** A gang of more orders or sheets than this is closed whatever its fill: one job must stay in proportion. */
const MOST_ORDERS = 300;
const MOST_SHEETS = 60;
/** An order of so many sheets fills its own; it holds nobody up when it goes by itself, in a lane of its own. */
const LARGE = 20;
const HOUR = 3600_000;
const DAY = 24 * HOUR;
/** Later than any due date; BullMQ takes priorities up to 2^21. */
const NO_DUE = 2_000_000;
/** Earlier than any due date: a customer waits for it, or the press does. */
const FIRST = 1;

/** Decides which gangs close now, and what the rest waits for. `rulesOf`: a shop's rules; undefined closes every submission by itself. */
export const planGangs = (
  waiting: readonly Waiting[],
  rulesOf: (shop: string) => GangRules | undefined,
  moment: Moment,
): { readonly close: readonly Closed[]; readonly pools: readonly Pool[] } => {
  const close: Closed[] = [];
  const pools: Pool[] = [];
  const rest: Waiting[] = [];
  for (const order of waiting)
    if (order.again !== undefined) close.push(closedAs([order], "again", order.again, "orders", FIRST));
    else if (order.rush) close.push(closedAs([order], "rush", "rush order", "rush"));
    else if (!order.now && rulesOf(order.shop) && size(order) >= LARGE)
      close.push(closedAs([order], "large", "fills its sheets by itself"));
    else rest.push(order);
  const [now, others] = halves(rest, (o) => o.now);
  for (const group of compatible(now, (o) => o.call))
    close.push(closedAs(group, "now", "submitted to be made at once"));
  const [ruled, unruled] = halves(others, (o) => rulesOf(o.shop) !== undefined);
  for (const group of compatible(unruled, (o) => o.call)) close.push(closedAs(group, "call", "submitted together"));
  for (const pool of compatible(ruled, () => ""))
    for (const part of byStocks(pool)) {
      const rules = rulesOf((part[0] as Waiting).shop) as GangRules;
      const gang = settleGang(part, rules, moment);
      if (gang) close.push(gang);
      else pools.push(waitOf(part, rules));
    }
  return { close, pools };
};

const halves = <T>(all: readonly T[], is: (one: T) => boolean): [T[], T[]] => [
  all.filter(is),
  all.filter((one) => !is(one)),
];

/** Sheets of the stock of which an order takes most. */
const size = ({ sheets }: Waiting): number => Math.max(0, ...Object.values(sheets));

const inOrder = (a: Waiting, b: Waiting): number =>
  (a.due ?? Infinity) - (b.due ?? Infinity) || a.since - b.since || (a.name < b.name ? -1 : 1);

/** Orders that may lie on one sheet: of one shop and effort, and never two versions of one kit. */
const compatible = (orders: readonly Waiting[], also: (order: Waiting) => string): Waiting[][] => {
  const groups = new Map<string, { members: Waiting[]; versions: Map<string, string> }[]>();
  for (const order of [...orders].sort(inOrder)) {
    const key = JSON.stringify([order.shop, order.effort, also(order)]);
    const known = groups.get(key) ?? [];
    groups.set(key, known);
    const versions = order.kits.map((id): [string, string] => [id.slice(id.indexOf("/") + 1), id]);
    let group = known.find((g) => versions.every(([kit, id]) => (g.versions.get(kit) ?? id) === id));
    if (!group) known.push((group = { members: [], versions: new Map() }));
    group.members.push(order);
    for (const [kit, id] of versions) group.versions.set(kit, id);
  }
  return [...groups.values()].flat().map(({ members }) => members);
};

/** Orders that share no stock, not even through others, have nothing to wait for from each other. */
const byStocks = (orders: readonly Waiting[]): Waiting[][] => {
  const parts: { stocks: Set<string>; members: Waiting[] }[] = [];
  for (const order of orders) {
    const stocks = new Set(Object.keys(order.sheets));
    const touched = parts.filter((p) => [...stocks].some((s) => p.stocks.has(s)));
    // Most orders join the one part that has their stocks: it grows in place, and ten thousand orders take ten thousand steps.
    const [home = { stocks, members: [] }, ...others] = touched;
    if (touched.length === 0) parts.push(home);
    for (const part of others) {
      for (const stock of part.stocks) home.stocks.add(stock);
      for (const member of part.members) home.members.push(member);
      parts.splice(parts.indexOf(part), 1);
    }
    for (const stock of stocks) home.stocks.add(stock);
    home.members.push(order);
  }
  return parts.map(({ members }) => members.sort(inOrder));
};

const totals = (orders: readonly Waiting[]): Map<string, number> => {
  const sum = new Map<string, number>();
  for (const { sheets } of orders)
    for (const [stock, share] of Object.entries(sheets)) sum.set(stock, (sum.get(stock) ?? 0) + share);
  return sum;
};

/** How full a stock's last sheet is, between 0 and 1. */
const lastSheet = (sheets: number): number => sheets - Math.ceil(sheets - 1e-9) + 1;

/** Mean over the stocks: a gang of two stocks is worth printing when their last sheets are filled together. */
const fillOf = (orders: readonly Waiting[]): number => {
  const all = [...totals(orders).values()].filter((s) => s > 0);
  return all.length === 0 ? 1 : all.reduce((sum, s) => sum + lastSheet(s), 0) / all.length;
};

const settleGang = (
  orders: readonly Waiting[],
  rules: GangRules,
  { now, settle, idle }: Moment,
): Closed | undefined => {
  const due = orders.find((o) => o.due !== undefined && o.due - rules.lead * HOUR <= now);
  if (due) return closedAs(most(orders), "due", `order ${due.name} is due within ${rules.lead} hours`);
  const oldest = Math.min(...orders.map((o) => o.since));
  if (now - oldest >= rules.wait * 60_000)
    return closedAs(most(orders), "wait", `its oldest order has waited ${rules.wait} minutes`);
  const part = most(orders);
  if (part.length < orders.length) return closedAs(part, "full", "as many as one job takes");
  const quiet = now - Math.max(...orders.map((o) => o.since)) >= settle;
  if (quiet && idle && fillOf(orders) >= rules.fill)
    return closedAs(orders, "fill", `its last sheets are filled to ${Math.round(fillOf(orders) * 100)} %`);
  return undefined;
};

/** The first orders that one job takes, at least one. */
const most = (orders: readonly Waiting[]): readonly Waiting[] => {
  const sum = new Map<string, number>();
  let n = 0;
  for (const { sheets } of orders) {
    for (const [stock, share] of Object.entries(sheets)) sum.set(stock, (sum.get(stock) ?? 0) + share);
    if (n > 0 && (n >= MOST_ORDERS || Math.max(0, ...sum.values()) > MOST_SHEETS)) break;
    n++;
  }
  return orders.slice(0, n);
};

const waitOf = (orders: readonly Waiting[], rules: GangRules): Pool => {
  const stocks = [...totals(orders).values()].filter((s) => s > 0);
  const lacks = Math.max(0, rules.fill - fillOf(orders)) * stocks.length;
  const due = Math.min(...orders.map((o) => (o.due === undefined ? Infinity : o.due - rules.lead * HOUR)));
  const until = Math.min(due, Math.min(...orders.map((o) => o.since)) + rules.wait * 60_000);
  return { orders: orders.map((o) => o.name), lacks, until };
};

const closedAs = (
  orders: readonly Waiting[],
  closed: Closed["closed"],
  why: string,
  lane?: Lane,
  priority?: number,
): Closed => {
  const due = Math.min(...orders.map((o) => o.due ?? Infinity));
  const large = Math.max(0, ...totals(orders).values()) >= LARGE;
  return {
    orders,
    closed,
    why,
    lane: lane ?? (large ? "large" : "orders"),
    priority:
      priority ??
      (lane === "rush"
        ? FIRST
        : Number.isFinite(due)
          ? Math.max(1, Math.min(NO_DUE - 1, Math.floor(due / DAY)))
          : NO_DUE),
  };
};
