import type { State } from "@kitforme/queue";
import { EXIT } from "../exit.ts";
import { orderInWords, WORDS } from "../order-in-words.ts";
import type { Outlet } from "../outlet.ts";
import { theQueue } from "../queue.ts";

export interface StatusOptions {
  readonly redis: string;
  readonly prefix: string;
  readonly state?: readonly State[];
  readonly limit?: number;
  readonly skip?: number;
}

/** Where orders are. 1 when the order asked for is not known here. */
export const status = async (order: string | undefined, options: StatusOptions, outlet: Outlet): Promise<number> => {
  const { withRedis, statusOf, countsOf, keysOf } = await theQueue();
  const keys = keysOf(options.prefix);
  const { state: states, limit, skip } = options;
  const query = {
    ...(order === undefined ? {} : { order }),
    ...(states ? { states } : {}),
    ...(limit === undefined ? {} : { limit }),
    ...(skip === undefined ? {} : { skip }),
  };
  const { found, counts, trouble } = await withRedis(options.redis, async (redis) => ({
    found: await statusOf(redis, keys, query),
    ...(await countsOf(redis, keys)),
  }));
  for (const each of found) {
    outlet.event("order", each);
    outlet.tell(orderInWords(each, order !== undefined));
  }
  if (trouble !== undefined) {
    outlet.event("paused", { reason: trouble });
    outlet.say(`The queue pauses: ${trouble}`);
  }
  if (order === undefined) {
    const all = Object.entries(counts).filter(([, n]) => n > 0);
    if (all.length > 0) outlet.say(all.map(([state, n]) => `${n} ${WORDS[state] ?? state}`).join("; "));
    else outlet.tell("no orders");
    return EXIT.done;
  }
  if (found.length > 0) return EXIT.done;
  outlet.tell(`order ${order} is not known here`);
  return EXIT.input;
};
