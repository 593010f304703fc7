import { randomBytes } from "node:crypto";
import type { FastifyReply, FastifyRequest } from "fastify";
import { type Change, changesAfter, ENDS, newestChange } from "@kitforme/queue";
import type { Feed } from "../feed.ts";
import { Problem } from "../problem.ts";
import type { Context } from "../settings.ts";
import { statusNamed } from "./orders.ts";

/** Milliseconds between two signs of life, so that no proxy takes the line for dead. */
const ALIVE = 15_000;
/** Bytes that a listener may be behind; then its line is cut, and it goes on where it was when it comes again. */
const MOST_BEHIND = 1 << 20;
const MOST_LISTENERS = 2_000;
/** Seconds that a ticket is good for. */
const TICKET = 3_600;

const written = (change: Change): string => `event: change\nid: ${change.id}\ndata: ${JSON.stringify(change)}\n\n`;

/** Server-sent events (HTML Living Standard): the queue's changes, of one order or of all. */
export const eventsOf = (at: Context, feed: Feed) => {
  const { redis, keys, settings } = at;
  const open = new Set<() => void>();
  const ticketKey = (ticket: string): string => `${keys.prefix}-ticket:${ticket}`;

  /** Sends `first`, then what comes; what came while `first` was asked for is not lost and not sent twice. */
  const stream = async (
    request: FastifyRequest,
    reply: FastifyReply,
    order: string | undefined,
    first: () => Promise<readonly Change[]>,
  ): Promise<void> => {
    if (open.size >= MOST_LISTENERS) throw new Problem(503, "Too many listen already; come again.");
    let early: Change[] | undefined = [];
    let last = "";
    let end = (): void => undefined;
    const send = (change: Change): void => {
      if (order !== undefined && change.order !== order) return;
      if (!isAfter(change.id, last)) return;
      last = change.id;
      reply.raw.write(written(change));
      if (order !== undefined && ENDS.includes(change.state)) end();
      else if (reply.raw.writableLength > MOST_BEHIND) reply.raw.destroy();
    };
    const stop = feed.listen((change) => (early ? void early.push(change) : send(change)));
    let changes: readonly Change[];
    try {
      changes = await first();
    } catch (error) {
      stop();
      throw error;
    }
    reply.hijack();
    const { origin } = request.headers;
    const shared = origin !== undefined && settings.origins?.includes(origin);
    reply.raw.writeHead(200, {
      "content-type": "text/event-stream; charset=utf-8",
      "cache-control": "no-store",
      "x-accel-buffering": "no",
      "x-content-type-options": "nosniff",
      ...(settings.origins ? { vary: "origin" } : {}),
      ...(shared ? { "access-control-allow-origin": origin } : {}),
    });
    reply.raw.write("retry: 2000\n\n");
    const beat = setInterval(() => void reply.raw.write(":\n\n"), ALIVE);
    end = () => void reply.raw.end();
    open.add(end);
    reply.raw.on("error", () => undefined);
    reply.raw.once("close", () => {
      clearInterval(beat);
      open.delete(end);
      stop();
    });
    const before = early;
    early = undefined;
    for (const change of [...changes, ...before]) if (!reply.raw.writableEnded) send(change);
  };

  return {
    one: async (request: FastifyRequest, reply: FastifyReply, named: string): Promise<void> => {
      const order = named.normalize("NFC");
      await stream(request, reply, order, async () => {
        // Read before the state: what changes in between is heard as well.
        const id = await newestChange(redis, keys);
        const { state, times } = await statusNamed(at, order);
        return [{ id, order, state, at: times[state] ?? new Date(0).toISOString() }];
      });
    },
    all: (request: FastifyRequest, reply: FastifyReply): Promise<void> =>
      stream(request, reply, undefined, async () => {
        const after = request.headers["last-event-id"];
        return typeof after === "string" ? changesAfter(redis, keys, after) : [];
      }),
    ticket: async (order: string): Promise<{ ticket: string; expires: string }> => {
      const { order: name } = await statusNamed(at, order);
      const ticket = randomBytes(24).toString("base64url");
      await redis.set(ticketKey(ticket), name, "EX", TICKET);
      return { ticket, expires: new Date(Date.now() + TICKET * 1_000).toISOString() };
    },
    /** Whether a ticket opens an order's events. */
    opens: async (ticket: string, order: string): Promise<boolean> =>
      /^[\w-]{32}$/.test(ticket) && (await redis.get(ticketKey(ticket))) === order.normalize("NFC"),
    close: (): void => {
      for (const end of open) end();
    },
  };
};

/** Ids of a stream are two numbers with a dash between. */
const isAfter = (id: string, last: string): boolean => {
  if (last === "") return true;
  const [a, b] = id.split("-").map(Number) as [number, number?];
  const [c, d] = last.split("-").map(Number) as [number, number?];
  return a > c || (a === c && (b ?? 0) > (d ?? 0));
};
