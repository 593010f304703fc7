/** An order as order.json has it. */
export interface Order {
  readonly order: string;
  /** The day it is due, year-month-day. */
  readonly due?: string;
  readonly rush?: boolean;
  /** Address for the packing slip, line by line. */
  readonly to?: readonly string[];
  readonly lines: readonly {
    readonly kit: string;
    readonly quantity: number;
    /** One entry for each of the quantity: slot name to text, or to a picture that was sent. */
    readonly texts?: readonly Readonly<Record<string, string | BuyersPicture>>[];
  }[];
}

/** A buyer's picture in a slot: `file` as `picture` answered; `crop` in shares of the picture, x, y, width, height. */
export interface BuyersPicture {
  readonly file: string;
  readonly crop?: readonly [number, number, number, number];
}

/** Where an order is in its life; the last four are ends. */
export type State =
  | "received"
  | "checked"
  | "waiting"
  | "ganged"
  | "making"
  | "made"
  | "refused"
  | "failed"
  | "cancelled";

/** A place in the input; what is known of it. */
export interface Place {
  readonly order?: string;
  readonly line?: number;
  readonly copy?: number;
  readonly kit?: string;
  readonly piece?: string;
  readonly slot?: string;
  readonly operation?: string;
  readonly file?: string;
  readonly stock?: string;
  readonly sheet?: number;
  readonly field?: string;
  /** Millimetres in the drawing, from its top-left corner, y down. */
  readonly at?: readonly [number, number];
}

/** Something that is wrong or worth knowing: `error` stops the job. */
export interface Finding {
  readonly level: "error" | "warning" | "note";
  /** Name of the rule, for programs. */
  readonly rule: string;
  readonly where: Place;
  readonly places?: readonly (Place & { readonly message?: string })[];
  readonly more?: number;
  /** Pictures that show it: PNG in base64. */
  readonly views?: readonly { readonly title: string; readonly png: string }[];
  readonly message: string;
  readonly hint: string;
}

/** How an order ended. `refused`: the input is at fault; `failed`: the shop's side is. */
export type Answer =
  | {
      readonly end: "made";
      readonly gang: string;
      readonly job: string;
      readonly folder: string;
      readonly findings: readonly Finding[];
    }
  | { readonly end: "refused"; readonly gang: string; readonly findings: readonly Finding[] }
  | { readonly end: "failed"; readonly gang: string; readonly reason: string };

/** Where an order is. */
export interface OrderStatus {
  readonly order: string;
  readonly state: State;
  /** When it came into each of its states, ISO times. */
  readonly times: Readonly<Partial<Record<State, string>>>;
  /** It prints something made again: an order of a job, or spoiled pieces of it. */
  readonly again?: {
    readonly kind: "reprint" | "remake";
    readonly order: string;
    readonly job: string;
    readonly spoiled?: readonly string[];
  };
  readonly gang?: string;
  readonly why?: string;
  readonly waits?: { readonly sheets: number; readonly until: string };
  readonly progress?: unknown;
  readonly trouble?: string;
  readonly answer?: Answer;
}

/** A page of orders, and how many there are in each state. */
export interface OrderList {
  readonly orders: readonly OrderStatus[];
  readonly counts: Readonly<Record<State, number>>;
  readonly trouble?: string;
  /** `skip` of the next page; absent on the last. */
  readonly next?: number;
}

/** What a submission put on the queue. */
export interface Submitted {
  /** `fresh` is false where it was there already, with the same content. */
  readonly orders: readonly { readonly order: string; readonly fresh: boolean }[];
  readonly findings: readonly Finding[];
}

/** One file of a job: its name, media type, size and SHA-256. */
export interface JobFile {
  readonly name: string;
  readonly type: string;
  readonly bytes: number;
  readonly sha256?: string;
}

/** Files of the job that made an order. */
export interface JobFiles {
  readonly order: string;
  readonly job: string;
  readonly files: readonly JobFile[];
}

/** A kit that can be ordered: its pieces and their slots. */
export interface Kit {
  readonly kit: string;
  readonly pieces: readonly { readonly piece: string; readonly slots: readonly string[] }[];
  readonly findings: readonly Finding[];
}

/** A piece as it looks when cut, and what is wrong with its words. */
export interface Preview {
  /** PNG; absent where the piece cannot be shown. Words at fault are left out of it. */
  readonly png?: Uint8Array;
  readonly findings: readonly Finding[];
}

/** A change of an order's state: the data of an event, the body of a webhook. */
export interface Change {
  readonly id: string;
  readonly order: string;
  readonly state: State;
  readonly at: string;
}
