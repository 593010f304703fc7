import { createHmac, timingSafeEqual } from "node:crypto";
import type { Change } from "./types.ts";

/** A webhook as it came over the line. */
export interface WebhookReceived {
  /** The body as it came, before anybody parsed it. */
  readonly body: string;
  /** Headers by their names in small letters, as Node's `request.headers` has them. */
  readonly headers: Readonly<Record<string, string | readonly string[] | undefined>>;
}

/** Seconds that a webhook may be old, or from a clock that is ahead. */
const TOLERANCE = 300;

/**
 * The change in a webhook, when it bears the shop's signature and is fresh; else undefined: answer 401 and believe nothing of it.
 * `secrets`: the common secret, or two of them while it is being replaced. `now`: milliseconds since 1970.
 *
 * A change can come twice, and changes out of order: keep `id` of the last one of each order and pass over what is not newer.
 */
export const verifyWebhook = (
  { body, headers }: WebhookReceived,
  secrets: string | readonly string[],
  now: number = Date.now(),
): Change | undefined => {
  const [time, signature] = [headers["kitforme-timestamp"], headers["kitforme-signature"]];
  if (typeof time !== "string" || typeof signature !== "string" || !/^\d{1,12}$/.test(time)) return undefined;
  if (Math.abs(now / 1_000 - Number(time)) > TOLERANCE) return undefined;
  const given = Buffer.from(signature);
  const good = (typeof secrets === "string" ? [secrets] : secrets).filter((secret) => {
    const own = Buffer.from(`v1=${createHmac("sha256", secret).update(`${time}.${body}`).digest("hex")}`);
    return own.length === given.length && timingSafeEqual(own, given);
  });
  return good.length > 0 ? (JSON.parse(body) as Change) : undefined;
};
