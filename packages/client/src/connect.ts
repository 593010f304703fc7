import { createHash } from "node:crypto";
import { readEvents } from "./read-events.ts";
import { Refused, refusedBy } from "./refused.ts";
import type {
  BuyersPicture,
  Change,
  Finding,
  JobFiles,
  Kit,
  Order,
  OrderList,
  OrderStatus,
  Preview,
  State,
  Submitted,
} from "./types.ts";

/** Which print shop, and with which token. */
export interface ConnectSettings {
  /** Where `kitforme serve` is reached, through the proxy that does its TLS: https://print.example */
  readonly url: string;
  readonly token: string;
  /** Tries of a request while the server is away, busy or asks to come again; default 5. */
  readonly tries?: number;
  /** Milliseconds that one request may take; default 60,000. Events are not bound by it. */
  readonly timeout?: number;
}

/** How orders are put on the queue. */
export interface SubmitHow {
  /** Made at once, without waiting for a gang to fill. */
  readonly now?: boolean;
  /** An order of the same name that is not ganged yet is replaced. */
  readonly change?: boolean;
}

/** Which orders are listed. */
export interface ListQuery {
  readonly state?: readonly State[];
  /** At most so many (default 100), after so many. */
  readonly limit?: number;
  readonly skip?: number;
}

/** A print shop, as its `kitforme serve` answers. Every method throws `Refused` for an answer that is no success. */
export interface PrintShop {
  /** Puts orders on the queue, all or none. The same order with the same content is one, so this can be called again. */
  submit(orders: Order | readonly Order[], how?: SubmitHow): Promise<Submitted>;
  /** Sends a buyer's picture (JPEG, PNG, TIFF, WebP, AVIF; at most 32 MiB) ahead of the order whose texts name it: `{ photo: await shop.picture(bytes) }`. */
  picture(bytes: Uint8Array): Promise<BuyersPicture>;
  /** Where an order is; undefined when nobody knows it. */
  get(order: string): Promise<OrderStatus | undefined>;
  list(query?: ListQuery): Promise<OrderList>;
  /** Takes an order back that is not ganged yet. */
  cancel(order: string): Promise<OrderStatus>;
  /** Puts a failed order back on the queue. */
  retry(order: string): Promise<OrderStatus>;
  /**
   * Prints a made order again, from what its job recorded. It is an order of its own with a name of its own (`order` of the answer):
   * `wait` for that. The same reprint is one, so this can be called again; `as` names another.
   */
  reprint(order: string, as?: string): Promise<OrderStatus>;
  /** Makes spoiled pieces of the order's job anew, each named `sheet:number`; else as `reprint`. */
  remake(order: string, spoiled: readonly string[], as?: string): Promise<OrderStatus>;
  /** Waits for an order's end by events, taken up again when the line breaks. */
  wait(order: string, signal?: AbortSignal): Promise<OrderStatus>;
  findings(order: string): Promise<readonly Finding[]>;
  files(order: string): Promise<JobFiles>;
  /** One file's bytes. */
  file(order: string, name: string): Promise<Uint8Array>;
  /** One file as a response, to be piped on. */
  openFile(order: string, name: string): Promise<Response>;
  kits(): Promise<readonly { readonly kit: string; readonly title?: string }[]>;
  kit(kit: string): Promise<Kit>;
  /** A piece with the words of a copy, as it looks when cut. */
  preview(kit: string, piece: string, copy?: Readonly<Record<string, string>>): Promise<Preview>;
  /** For a store's page: opens `GET /orders/ORDER/events?ticket=` for this one order, without a token. */
  ticket(order: string): Promise<{ readonly ticket: string; readonly expires: string }>;
  /** Changes of one order until its end, or of all for ever; taken up again when the line breaks. `after`: the last one seen. */
  events(of?: {
    readonly order?: string;
    readonly after?: string;
    readonly signal?: AbortSignal;
  }): AsyncGenerator<Change>;
}

const ENDS: readonly State[] = ["made", "refused", "failed", "cancelled"];
const FIRST_WAIT = 250;
const LONGEST_WAIT = 10_000;

const pause = (ms: number, signal?: AbortSignal): Promise<void> =>
  new Promise((resolve, reject) => {
    const over = (): void => {
      clearTimeout(timer);
      reject(signal?.reason as Error);
    };
    const timer = setTimeout(() => {
      signal?.removeEventListener("abort", over);
      resolve();
    }, ms);
    if (signal?.aborted) over();
    else signal?.addEventListener("abort", over, { once: true });
  });

/** A connection to a print shop; nothing is sent before the first question. */
export const connect = ({ url, token, tries = 5, timeout = 60_000 }: ConnectSettings): PrintShop => {
  const home = url.replace(/\/+$/, "");
  const path = (...parts: readonly string[]): string => `/${parts.map(encodeURIComponent).join("/")}`;

  const once = (
    method: string,
    where: string,
    init: Omit<RequestInit, "headers"> & { readonly headers: Readonly<Record<string, string>> },
  ): Promise<Response> =>
    fetch(home + where, { ...init, method, headers: { authorization: `Bearer ${token}`, ...init.headers } });

  /** Every request of this interface can be sent twice: away, busy (429, 503) and cut lines are tried again. */
  const ask = async (method: string, where: string, body?: unknown, accept?: string): Promise<Response> => {
    for (let n = 1; ; n++) {
      const init = {
        signal: AbortSignal.timeout(timeout),
        headers: {
          ...(body === undefined
            ? {}
            : { "content-type": body instanceof Uint8Array ? "application/octet-stream" : "application/json" }),
          ...(accept === undefined ? {} : { accept }),
        },
        ...(body === undefined ? {} : { body: body instanceof Uint8Array ? Buffer.from(body) : JSON.stringify(body) }),
      };
      let later = Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** (n - 1));
      try {
        const response = await once(method, where, init);
        if (response.ok) return response;
        const again = response.status === 429 || response.status === 503;
        if (!again || n >= tries) throw await refusedBy(response);
        const asked = Number(response.headers.get("retry-after"));
        if (asked > 0) later = Math.max(later, Math.min(LONGEST_WAIT, asked * 1_000));
        await response.body?.cancel();
      } catch (error) {
        if (error instanceof Refused || n >= tries) throw error;
      }
      await pause(later);
    }
  };
  const json = async <T>(method: string, where: string, body?: unknown, accept?: string): Promise<T> =>
    (await (await ask(method, where, body, accept)).json()) as T;

  const get = async (order: string): Promise<OrderStatus | undefined> => {
    try {
      return await json<OrderStatus>("GET", path("orders", order));
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return undefined;
      throw error;
    }
  };

  async function* events({
    order,
    after,
    signal,
  }: {
    order?: string;
    after?: string;
    signal?: AbortSignal;
  } = {}): AsyncGenerator<Change> {
    let last = after;
    for (let n = 0; ; ) {
      try {
        const where = order === undefined ? "/events" : path("orders", order, "events");
        const response = await once("GET", where, {
          headers: { accept: "text/event-stream", ...(last === undefined ? {} : { "last-event-id": last }) },
          ...(signal ? { signal } : {}),
        });
        if (!response.ok) {
          const refused = await refusedBy(response);
          if (refused.status !== 429 && refused.status !== 503) throw refused;
        } else if (response.body)
          for await (const change of readEvents(response.body)) {
            n = 0;
            last = change.id;
            yield change;
            if (order !== undefined && ENDS.includes(change.state)) return;
          }
      } catch (error) {
        if (error instanceof Refused || signal?.aborted) throw error;
      }
      // The line broke, or the server stops: on with the next one.
      await pause(Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** n++), signal);
    }
  }

  const openFile = (order: string, name: string): Promise<Response> => ask("GET", path("orders", order, "files", name));

  const named = (as?: string): string => (as === undefined ? "" : `?${new URLSearchParams({ as }).toString()}`);

  return {
    submit: (orders, { now, change } = {}) => {
      const asked = new URLSearchParams({ ...(now ? { now: "true" } : {}), ...(change ? { change: "true" } : {}) });
      const query = asked.size > 0 ? `?${asked.toString()}` : "";
      const one = "order" in orders ? orders : undefined;
      return one ? json("PUT", path("orders", one.order) + query, one) : json("POST", `/orders${query}`, { orders });
    },
    picture: async (bytes) => {
      const hash = createHash("sha256").update(bytes).digest("hex");
      const { file } = await json<{ file: string }>("PUT", path("pictures", hash), bytes);
      return { file };
    },
    get,
    list: ({ state = [], limit, skip } = {}) => {
      const query = new URLSearchParams();
      for (const one of state) query.append("state", one);
      if (limit !== undefined) query.set("limit", String(limit));
      if (skip !== undefined) query.set("skip", String(skip));
      return json("GET", `/orders?${query.toString()}`);
    },
    cancel: (order) => json("DELETE", path("orders", order)),
    retry: (order) => json("POST", path("orders", order, "retry")),
    reprint: (order, as) => json("POST", path("orders", order, "reprint") + named(as)),
    remake: (order, spoiled, as) => json("POST", path("orders", order, "remake") + named(as), { spoiled }),
    wait: async (order, signal) => {
      for await (const _ of events({ order, ...(signal ? { signal } : {}) }));
      const status = await get(order);
      if (!status) throw new Refused(404, "Nobody there knows this order any more.");
      return status;
    },
    findings: async (order) =>
      (await json<{ findings: readonly Finding[] }>("GET", path("orders", order, "findings"))).findings,
    files: (order) => json("GET", path("orders", order, "files")),
    openFile,
    file: async (order, name) => new Uint8Array(await (await openFile(order, name)).arrayBuffer()),
    kits: async () => (await json<{ kits: readonly { kit: string; title?: string }[] }>("GET", "/kits")).kits,
    kit: (kit) => json("GET", path("kits", kit)),
    preview: async (kit, piece, copy = {}) => {
      const where = path("kits", kit, "pieces", piece, "preview");
      const { png, findings } = await json<{ png?: string; findings: readonly Finding[] }>(
        "POST",
        where,
        { copy },
        "application/json",
      );
      return { findings, ...(png === undefined ? {} : { png: new Uint8Array(Buffer.from(png, "base64")) }) };
    },
    ticket: (order) => json("POST", path("orders", order, "ticket")),
    events,
  };
};
