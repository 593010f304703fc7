import type { Effort, Finding } from "@kitforme/run";
import { Queue } from "bullmq";
import type { Redis } from "ioredis";
import { type Batch, batchIdOf, type Claim, digestOf, type Keys, QUEUE } from "./names.ts";

/**
 * Claims all orders of a batch or none. An order claimed before with the same content stays with its batch; with other
 * content it is a clash. One script, so two submitters cannot both win.
 * KEYS: claims, batches, answers. ARGV: batch id, batch JSON, then name and digest of every order.
 * Returns {"clash", names...} or {"ok", names of the orders that are new...}.
 */
const CLAIM = `
local fresh, clashes = {}, {}
for i = 3, #ARGV, 2 do
  local held = redis.call('HGET', KEYS[1], ARGV[i])
  if not held then
    fresh[#fresh + 1] = ARGV[i]
  elseif cjson.decode(held).digest ~= ARGV[i + 1] then
    clashes[#clashes + 1] = ARGV[i]
  end
end
if #clashes > 0 then return {'clash', unpack(clashes)} end
if #fresh > 0 then
  local isFresh = {}
  for _, name in ipairs(fresh) do isFresh[name] = true end
  for i = 3, #ARGV, 2 do
    if isFresh[ARGV[i]] then
      redis.call('HSET', KEYS[1], ARGV[i], cjson.encode({digest = ARGV[i + 1], batch = ARGV[1]}))
      redis.call('HDEL', KEYS[3], ARGV[i])
    end
  end
  redis.call('HSET', KEYS[2], ARGV[1], ARGV[2])
end
return {'ok', unpack(fresh)}
`;

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
): Promise<Submitted> => {
  const digests = new Map(submissions.map((s) => [s.name, digestOf(s.content)]));
  // The orders that are new decide the batch: what is claimed already is taken out before the batch gets its id.
  const held = await redis.hmget(keys.claims, ...digests.keys());
  const unclaimed = submissions.filter((s, i) => !held[i] && submissions.findIndex((t) => t.name === s.name) === i);
  const batch: Batch = { orders: unclaimed.map(({ name, file, text }) => ({ name, file, text })), effort };
  const id = batchIdOf(
    unclaimed.map((s) => digests.get(s.name) as string),
    effort,
  );
  const claims = submissions.flatMap((s) => [s.name, digests.get(s.name) as string]);
  const [verdict, ...names] = (await redis.eval(
    CLAIM,
    3,
    keys.claims,
    keys.batches,
    keys.answers,
    id,
    JSON.stringify(batch),
    ...claims,
  )) as string[];
  if (verdict === "clash")
    return {
      orders: [],
      findings: names.map((order) => ({
        level: "error",
        rule: "order-changed",
        where: { order, file: submissions.find((s) => s.name === order)?.file ?? order },
        message: `order ${order} is on the queue, or made, with other content`,
        hint: "give the changed order a name of its own; nothing of this submission was put on the queue",
      })),
    };
  // Between our look and the claim another submitter may have taken some of the orders: what we claimed is `names`, and
  // the batch that was written may then hold more than that. The worker makes only what its batch still holds the claim of.
  const queue = new Queue(QUEUE, { connection: redis, prefix: keys.prefix });
  queue.on("error", () => undefined);
  try {
    const after = (await redis.hmget(keys.claims, ...digests.keys())).map(
      (c) => JSON.parse(c ?? "null") as Claim | null,
    );
    const batches = new Set(after.flatMap((c) => (c ? [c.batch] : [])));
    for (const each of batches) await enqueue(queue, redis, keys, each);
    return {
      findings: [],
      orders: [...digests.keys()].map((order, i) => ({
        order,
        batch: after[i]?.batch ?? id,
        fresh: names.includes(order),
      })),
    };
  } finally {
    await queue.close();
  }
};

/** Weather clears within minutes: 2, 4, 8 ... 256 s between attempts, about eight minutes in all. */
export const ATTEMPTS = 9;

/** Adds the job of a batch unless it is there or has come to its end. */
const enqueue = async (queue: Queue, redis: Redis, keys: Keys, id: string): Promise<void> => {
  if ((await redis.hexists(keys.batches, id)) === 0) return; // it has come to its end
  await queue.add(
    "print-run",
    { batch: id },
    {
      jobId: id,
      attempts: ATTEMPTS,
      backoff: { type: "exponential", delay: 2_000 },
      removeOnComplete: { count: 1_000 },
      removeOnFail: { count: 1_000 },
    },
  );
};
