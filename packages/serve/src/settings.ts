import type { House, Keys, Plans, workerRedis } from "@kitforme/queue";
import type { Effort } from "@kitforme/run";

export type Redis = ReturnType<typeof workerRedis>;

/** What a server is started with. */
export interface ServeSettings {
  /** The shop as the workers see it: orders are frozen from here, files read from its folder of jobs. */
  readonly house: House;
  /** Address of the queue's Redis, and what its keys start with. */
  readonly redis: string;
  readonly prefix: string;
  /** Port 0 takes any free one. */
  readonly host: string;
  readonly port: number;
  /** The file of tokens: a name and a token a line. Read again when it changes. */
  readonly tokens: string;
  readonly effort: Effort;
  /** Requests a second that each name of the tokens' file has; default 1,000. Without a token: 20 a second from one address. */
  readonly rate?: number;
  /** Bytes of a body; default 8 MiB. */
  readonly body?: number;
  /** Origins of store pages that may listen to events with a ticket: https://shop.example. */
  readonly origins?: readonly string[];
  /** A proxy in front says who asks (X-Forwarded-For): its addresses, as CIDR or alone. */
  readonly proxy?: readonly string[];
  /** Where every change of a state is sent; left out: nowhere. */
  readonly webhook?: { readonly url: string; readonly secret: string; readonly firstWait?: number };
}

/** What a server says to its log. */
export interface ServeEvents {
  /** One request, answered. `name` is the token's; paths hold order numbers, never texts. */
  readonly onRequest?: (line: {
    readonly method: string;
    readonly route: string;
    readonly order?: string;
    readonly name?: string;
    readonly status: number;
    readonly ms: number;
  }) => void;
  /** A fault that somebody on duty should see. */
  readonly onTrouble?: (what: string, error: Error) => void;
  readonly onWebhook?: (change: { readonly order: string; readonly state: string }, tries: number, ok: boolean) => void;
}

/** What the parts of a serving process share. */
export interface Context {
  /** As it was given, with what this process remembers of it. */
  readonly house: House;
  readonly plans: Plans;
  readonly settings: ServeSettings;
  readonly events: ServeEvents;
  readonly redis: Redis;
  readonly keys: Keys;
}
