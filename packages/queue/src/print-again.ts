import type { Redis } from "ioredis";
import { type Again, digestOf, type Keys, type State } from "./keys.ts";
import { script } from "./scripts.ts";
import { type OrderStatus, statusOf } from "./status.ts";

/** What came of asking that something made is printed again. */
export type PrintedAgain =
  /** It is on the queue, by this call or an earlier one, or made: an order of its own, with a name of its own. */
  | { readonly status: OrderStatus; readonly fresh: boolean }
  /** Nothing can be printed again: the order is not made. Without a state nobody knows it. */
  | { readonly not: State | undefined }
  /** Another order bears the name that this one would have. */
  | { readonly taken: string };

/** How something is printed again. */
export interface AgainHow {
  /** Places of spoiled pieces in the order's job, `sheet:number`, one for each piece; left out, the whole order is printed again. */
  readonly spoiled?: readonly string[];
  /** The name that the reprint or remake has on the queue; left out, one made of the order's name. */
  readonly as?: string;
}

/**
 * Puts a made order on the queue again, or spoiled pieces of the job that made it. What is printed comes from what that job
 * recorded, so that kits changed since do not matter. It goes at once and by itself, and can be cancelled until it does.
 * The same reprint or remake is one, however often it is asked for.
 */
export const printAgain = async (
  redis: Redis,
  keys: Keys,
  order: string,
  { spoiled, as }: AgainHow = {},
): Promise<PrintedAgain> => {
  const [status] = await statusOf(redis, keys, { order });
  if (status?.answer?.end !== "made") return { not: status?.state };
  const { job } = status.answer;
  const [effort, file] = await redis.hmget(`${keys.prefix}-order:${order}`, "effort", "file");
  // A reprint of a reprint is one of the order that stands in its job.
  const again: Again = {
    kind: spoiled ? "remake" : "reprint",
    order: status.again?.order ?? order,
    job,
    file: file ?? order,
    ...(spoiled ? { spoiled: [...spoiled].sort() } : {}),
  };
  const digest = digestOf(again);
  const name = as ?? nameOf(again, digest);
  // In the sequence of the script's arguments: no text of its own, not due, no kits, no pictures.
  const fields = [name, digest, again.file, "", "", "", "", "", JSON.stringify(again)];
  const [verdict, ...fresh] = (await script(
    redis,
    keys,
    "submit",
    effort || "normal",
    "1",
    "",
    "",
    ...fields,
  )) as string[];
  if (verdict === "clash") return { taken: name };
  const [now] = await statusOf(redis, keys, { order: name });
  // Forgotten between the two questions: it had ended long ago.
  return now ? { status: now, fresh: fresh.length > 0 } : { not: undefined };
};

/** The same for the same pieces, so that asking twice is asking once. No order can bear such a name: it has a colon in it. */
const nameOf = ({ kind, order }: Again, digest: string): string =>
  kind === "reprint" ? `${order}:reprint` : `${order}:remake-${digest.slice(0, 8)}`;
