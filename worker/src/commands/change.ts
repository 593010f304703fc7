import { badName } from "@kitforme/kit";
import type { AgainHow } from "@kitforme/queue";
import { WrongUsage } from "../ending.ts";
import { EXIT } from "../exit.ts";
import { WORDS } from "../order-in-words.ts";
import type { Outlet } from "../outlet.ts";
import { theQueue } from "../queue.ts";

interface QueueOptions {
  readonly redis: string;
  readonly prefix: string;
}

/** Takes orders back that are not ganged yet. 1 when one of them could not be. */
export const cancel = async (orders: readonly string[], options: QueueOptions, outlet: Outlet): Promise<number> => {
  const { withRedis, cancelOrder, keysOf } = await theQueue();
  const keys = keysOf(options.prefix);
  return withRedis(options.redis, async (redis) => {
    let code: number = EXIT.done;
    for (const order of orders) {
      const state = await cancelOrder(redis, keys, order);
      const done = state === "cancelled";
      if (!done) code = EXIT.input;
      outlet.event("cancel", { order, cancelled: done, ...(state ? { state } : {}) });
      if (done) outlet.tell(`${order}  cancelled`);
      else if (state) outlet.tell(`${order}  cannot be cancelled any more: ${WORDS[state]}`);
      else outlet.tell(`order ${order} is not known here`);
    }
    return code;
  });
};

/** Puts failed orders back on the queue: one, or all. 1 when the one named has not failed. */
export const retry = async (
  order: string | undefined,
  options: QueueOptions & { readonly failed?: boolean },
  outlet: Outlet,
): Promise<number> => {
  if (order === undefined && options.failed !== true)
    throw new WrongUsage("Name an order, or say --failed for all that failed.");
  const { withRedis, retryOrder, failedOrders, keysOf } = await theQueue();
  const keys = keysOf(options.prefix);
  return withRedis(options.redis, async (redis) => {
    let code: number = EXIT.done;
    const names = order === undefined ? await failedOrders(redis, keys) : [order];
    if (names.length === 0) outlet.tell("no order has failed");
    for (const name of names) {
      const state = await retryOrder(redis, keys, name);
      const again = state === "again";
      if (!again && order !== undefined) code = EXIT.input;
      outlet.event("retry", { order: name, again, ...(state ? { state } : {}) });
      if (again) outlet.tell(`${name}  on the queue again`);
      else if (state) outlet.tell(`${name}  has not failed: ${WORDS[state]}`);
      else outlet.tell(`order ${name} is not known here`);
    }
    return code;
  });
};

/** Puts a made order, or spoiled pieces of its job, on the queue again. 1 when that cannot be. */
export const again = async (
  order: string,
  { as, spoiled, ...options }: QueueOptions & AgainHow,
  outlet: Outlet,
): Promise<number> => {
  const bad = as === undefined ? undefined : badName(as);
  if (bad !== undefined) throw new WrongUsage(`--as: the name ${bad}.`);
  const { withRedis, printAgain, keysOf } = await theQueue();
  const how = { ...(as === undefined ? {} : { as }), ...(spoiled ? { spoiled } : {}) };
  const printed = await withRedis(options.redis, (redis) => printAgain(redis, keysOf(options.prefix), order, how));
  if ("status" in printed) {
    const { order: name, state } = printed.status;
    outlet.event("again", { order, as: name, fresh: printed.fresh, state });
    outlet.tell(`${name}  ${printed.fresh ? "on the queue" : `is there already: ${WORDS[state]}`}`);
    return EXIT.done;
  }
  const state = "not" in printed ? printed.not : undefined;
  outlet.event("again", { order, fresh: false, ...(state ? { state } : {}), ...("taken" in printed ? printed : {}) });
  if ("taken" in printed) outlet.tell(`another order is called ${printed.taken}: give the name with --as`);
  else if (state) outlet.tell(`${order}  is not made: ${WORDS[state]}`);
  else outlet.tell(`order ${order} is not known here`);
  return EXIT.input;
};

/** Changes of orders as they happen, until the one named has come to its end, or for ever. 1 when it is not known, was refused or failed. */
export const watch = async (order: string | undefined, options: QueueOptions, outlet: Outlet): Promise<number> => {
  const { withRedis, watchOrders, keysOf } = await theQueue();
  const stop = new AbortController();
  for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => stop.abort());
  return withRedis(options.redis, async (redis) => {
    let last: string | undefined;
    for await (const change of watchOrders(redis, keysOf(options.prefix), order, stop.signal)) {
      last = change.state;
      outlet.event("change", change);
      outlet.tell(`${change.at}  ${change.order}  ${WORDS[change.state] ?? change.state}`);
    }
    if (order !== undefined && last === undefined) outlet.tell(`order ${order} is not known here`);
    return order === undefined || last === "made" || last === "cancelled" || stop.signal.aborted
      ? EXIT.done
      : EXIT.input;
  });
};
