import type { Effort, Finding } from "@kitforme/run";
import { Queue } from "bullmq";
import type { Redis } from "ioredis";
import { say } from "../faults.ts";
import { type Claim, digestOf, type Keys, QUEUE } from "./names.ts";

/**
 * Claims all orders of a submission or none, and writes the new ones as one batch. An order claimed before with the same
 * content stays with its batch; with other content it is a clash. One script, so two submitters cannot both win. Batches
 * are numbered and a number is never used again: an order that was refused comes again as another job, since a queue that
 * still knows a finished job by the same id would drop the new one.
 * KEYS: claims, batches, answers, number. ARGV: effort, then name, digest, file and text of every order.
 * Returns {"clash", names...} or {"ok", names of the orders that are new...}.
 */
const CLAIM = `
local fresh, clashes, orders = {'ok'}, {'clash'}, {}
for i = 2, #ARGV, 4 do
  local held = redis.call('HGET', KEYS[1], ARGV[i])
  if not held then
    fresh[#fresh + 1] = ARGV[i]
    orders[#orders + 1] = {name = ARGV[i], file = ARGV[i + 2], text = ARGV[i + 3], digest = ARGV[i + 1]}
  elseif cjson.decode(held).digest ~= ARGV[i + 1] then
    clashes[#clashes + 1] = ARGV[i]
  end
end
if #clashes > 1 then return clashes end
if #orders > 0 then
  local batch = 'b' .. redis.call('INCR', KEYS[4])
  for _, order in ipairs(orders) do
    redis.call('HSET', KEYS[1], order.name, cjson.encode({digest = order.digest, batch = batch}))
    redis.call('HDEL', KEYS[3], order.name)
  end
  redis.call('HSET', KEYS[2], batch, cjson.encode({orders = orders, effort = ARGV[1]}))
end
return fresh
`;

/** How often a batch is tried while the weather is bad, and the milliseconds before the second try; each wait is twice the last. */
export interface Patience {
  readonly attempts: number;
  readonly firstWait: number;
}

/** Weather clears within minutes: 2, 4, 8 ... 256 s between attempts, about eight minutes in all. */
const PATIENCE: Patience = { attempts: 9, firstWait: 2_000 };

export interface Submission {
  readonly name: string;
  readonly file: string;
  readonly text: string;
  /** Parsed content, as far as JSON goes. */
  readonly content: unknown;
}

export interface Submitted {
  readonly findings: readonly Finding[];
  /** Every order with the batch that makes it, and whether this call put it there. */
  readonly orders: readonly { readonly order: string; readonly batch: string; readonly fresh: boolean }[];
}

/**
 * Puts orders on the queue as one batch. The same order with the same content is made once, however often and by whomever
 * it is submitted; a batch that was claimed but never reached the queue (its submitter died) is queued again here.
 */
export const submitOrders = async (
  redis: Redis,
  keys: Keys,
  submissions: readonly Submission[],
  effort: Effort,
  patience = PATIENCE,
): Promise<Submitted> => {
  const digests = new Map<string, string>();
  const argv: string[] = [];
  const twice = new Set<string>();
  for (const { name, file, text, content } of submissions) {
    const digest = digestOf(content);
    const known = digests.get(name);
    if (known === undefined) argv.push(name, digest, file, text);
    else if (known !== digest) twice.add(name);
    digests.set(name, known ?? digest);
  }
  if (twice.size > 0) return changed(twice, submissions, "comes twice in this submission, with different content");
  if (digests.size === 0) return { orders: [], findings: [] };
  const [verdict, ...names] = (await redis.eval(
    CLAIM,
    4,
    keys.claims,
    keys.batches,
    keys.answers,
    keys.number,
    effort,
    ...argv,
  )) as string[];
  if (verdict === "clash") return changed(names, submissions, "is on the queue, or made, with other content");
  const queue = new Queue(QUEUE, { connection: redis, prefix: keys.prefix });
  queue.on("error", () => undefined);
  try {
    const after = (await redis.hmget(keys.claims, ...digests.keys())).map(
      (c) => JSON.parse(c ?? "null") as Claim | null,
    );
    const batches = new Set(after.flatMap((c) => (c ? [c.batch] : [])));
    for (const each of batches) await enqueue(queue, redis, keys, each, patience);
    return {
      findings: [],
      orders: [...digests.keys()].map((order, i) => ({
        order,
        batch: after[i]?.batch ?? "ended",
        fresh: names.includes(order),
      })),
    };
  } finally {
    await queue.close();
  }
};

const changed = (names: Iterable<string>, submissions: readonly Submission[], how: string): Submitted => ({
  orders: [],
  findings: [...names].map((order) =>
    say("order-changed", { order, file: submissions.findLast((s) => s.name === order)?.file ?? order }, { order, how }),
  ),
});

/** Adds the job of a batch unless it is on its way or the batch has come to its end. */
const enqueue = async (queue: Queue, redis: Redis, keys: Keys, id: string, patience: Patience): Promise<void> => {
  if ((await redis.hexists(keys.batches, id)) === 0) return; // it has come to its end
  // A job that is over while its batch is not: it was given up after too many workers died over it. It starts anew.
  const old = await queue.getJob(id);
  if (old && ((await old.isFailed()) || (await old.isCompleted()))) await old.remove();
  await queue.add(
    "print-run",
    { batch: id },
    {
      jobId: id,
      attempts: patience.attempts,
      backoff: { type: "exponential", delay: patience.firstWait },
      removeOnComplete: { count: 1_000 },
      removeOnFail: { count: 1_000 },
    },
  );
};
