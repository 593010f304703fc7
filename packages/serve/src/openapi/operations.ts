// Long, because it is one table: every operation of the interface, read from top to bottom like the document made from it.
import { STATES } from "@kitforme/queue";
import { ref, type Schema } from "./schemas.ts";

/** A parameter of the path or the query. */
export interface Parameter {
  readonly name: string;
  readonly in: "path" | "query" | "header";
  readonly description: string;
  readonly schema: Schema;
}

export interface Reply {
  readonly description: string;
  /** Media type to form. */
  readonly content?: Readonly<Record<string, Schema>>;
}

/** One thing that can be asked: how, by whom, and what may be answered. */
export interface Operation {
  readonly method: "get" | "put" | "post" | "delete";
  /** As OpenAPI writes it: /orders/{order}. */
  readonly path: string;
  readonly summary: string;
  readonly description?: string;
  /** `token`: of the tokens' file; `ticket`: that or a ticket; `none`: everybody. */
  readonly access: "token" | "ticket" | "none";
  readonly parameters: readonly Parameter[];
  readonly body?: Schema;
  /** Its body is bytes of these media types, not JSON. */
  readonly upload?: readonly string[];
  readonly replies: Readonly<Record<number, Reply>>;
}

const json = (description: string, schema: Schema): Reply => ({ description, content: { "application/json": schema } });
const problem = (description: string): Reply => ({
  description,
  content: { "application/problem+json": ref("Problem") },
});
const BINARY: Schema = { type: "string", format: "binary" };

const inPath = (name: string, description: string): Parameter => ({
  name,
  in: "path",
  description,
  schema: { type: "string", minLength: 1, maxLength: 1_000 },
});
const ORDER = inPath("order", "Name of the order.");
const KIT = inPath("kit", "Name of the kit.");
const flag = (name: string, description: string): Parameter => ({
  name,
  in: "query",
  description,
  schema: { type: "boolean", default: false },
});
const HOW: readonly Parameter[] = [
  flag("now", "Made at once, without waiting for a gang to fill."),
  flag("change", "An order of the same name that is not ganged yet is replaced."),
];
const UNKNOWN = problem("Nobody here knows this order.");
const NOT_MADE = problem("The order is not made; `state` says where it is.");

const TAKEN = {
  409: problem("An order of this name is here with other content, or may not be changed any more."),
  422: problem("The order is refused; `findings` say why."),
};

const AS: Parameter = {
  name: "as",
  in: "query",
  description: "The name it has on the queue; left out, one made of the order's.",
  schema: { type: "string", minLength: 1, maxLength: 60 },
};
const AGAIN = {
  200: json("It was asked for before; this is where it is.", ref("OrderStatus")),
  201: json("It is on the queue.", ref("OrderStatus")),
  404: UNKNOWN,
  409: problem("The order is not made (`state` says where it is), or another order bears the name."),
};

/** Everything that can be asked, once: the routes and the OpenAPI document both come from here. */
export const OPERATIONS = {
  putOrder: {
    method: "put",
    path: "/orders/{order}",
    summary: "Puts one order on the queue",
    description:
      "Idempotent: the same content under the same name is one order, however often it is sent; blank space and the order of fields do not count. Shop and kits are fixed as they are now.",
    access: "token",
    parameters: [ORDER, ...HOW],
    body: ref("Order"),
    replies: {
      200: json("It was here already.", ref("Submitted")),
      201: json("It is on the queue.", ref("Submitted")),
      ...TAKEN,
    },
  },
  postOrders: {
    method: "post",
    path: "/orders",
    summary: "Puts one or several orders on the queue, all or none",
    access: "token",
    parameters: HOW,
    body: { anyOf: [ref("Order"), ref("Orders")] },
    replies: {
      200: json("All were here already.", ref("Submitted")),
      201: json("They are on the queue.", ref("Submitted")),
      ...TAKEN,
    },
  },
  putPicture: {
    method: "put",
    path: "/pictures/{sha256}",
    summary: "Takes a buyer's picture, ahead of the order that names it",
    description:
      'JPEG, PNG, TIFF, WebP or AVIF of at most 32 MiB. The order names it as the answer says: `"photo": { "file": "pictures/SHA-256" }`. Idempotent. A picture that no order on the queue names is dropped a day after it was last sent.',
    access: "token",
    parameters: [
      {
        name: "sha256",
        in: "path",
        description: "SHA-256 of the bytes, hexadecimal.",
        schema: { type: "string", pattern: "^[0-9a-f]{64}$" },
      },
    ],
    upload: ["image/*", "application/octet-stream"],
    replies: { 201: json("It is here.", ref("Picture")) },
  },
  listOrders: {
    method: "get",
    path: "/orders",
    summary: "Where orders are, sorted by name",
    access: "token",
    parameters: [
      {
        name: "state",
        in: "query",
        description: "Only orders in these states.",
        schema: { type: "array", items: { type: "string", enum: [...STATES] } },
      },
      {
        name: "limit",
        in: "query",
        description: "At most so many.",
        schema: { type: "integer", minimum: 1, maximum: 1_000, default: 100 },
      },
      {
        name: "skip",
        in: "query",
        description: "After so many.",
        schema: { type: "integer", minimum: 0, default: 0 },
      },
    ],
    replies: { 200: json("The page.", ref("OrderList")) },
  },
  getOrder: {
    method: "get",
    path: "/orders/{order}",
    summary: "Where an order is",
    access: "token",
    parameters: [ORDER],
    replies: { 200: json("Its state.", ref("OrderStatus")), 404: UNKNOWN },
  },
  cancelOrder: {
    method: "delete",
    path: "/orders/{order}",
    summary: "Takes an order back that is not ganged yet",
    access: "token",
    parameters: [ORDER],
    replies: {
      200: json("It is cancelled.", ref("OrderStatus")),
      404: UNKNOWN,
      409: problem("It cannot be cancelled any more; `state` says why."),
    },
  },
  retryOrder: {
    method: "post",
    path: "/orders/{order}/retry",
    summary: "Puts a failed order back on the queue",
    access: "token",
    parameters: [ORDER],
    replies: {
      200: json("It is on the queue again.", ref("OrderStatus")),
      404: UNKNOWN,
      409: problem("It has not failed; `state` says where it is."),
    },
  },
  reprintOrder: {
    method: "post",
    path: "/orders/{order}/reprint",
    summary: "Prints a made order again",
    description:
      "A job of its own, at once, from what the order's job recorded: kits changed since do not matter. It is an order of its own on the queue, named in the answer, with its own state, files and events. Idempotent: the same reprint is one, however often it is asked for.",
    access: "token",
    parameters: [ORDER, AS],
    replies: AGAIN,
  },
  remakeOrder: {
    method: "post",
    path: "/orders/{order}/remake",
    summary: "Makes spoiled pieces of the job that made an order anew",
    description:
      "Pieces of all orders of that job may be named. Make-up sheets at once, as an order of its own on the queue, named in the answer. Idempotent as a reprint is.",
    access: "token",
    parameters: [ORDER, AS],
    body: ref("Spoiled"),
    replies: AGAIN,
  },
  getFindings: {
    method: "get",
    path: "/orders/{order}/findings",
    summary: "Findings of an order that was made or refused",
    access: "token",
    parameters: [ORDER],
    replies: { 200: json("None while it has no end.", ref("Findings")), 404: UNKNOWN },
  },
  listFiles: {
    method: "get",
    path: "/orders/{order}/files",
    summary: "Files of the job that made an order",
    description: "A job may hold other orders too: its sheets are printed and cut as a whole.",
    access: "token",
    parameters: [ORDER],
    replies: {
      200: json("The files.", ref("Files")),
      404: UNKNOWN,
      409: NOT_MADE,
      410: problem("The shop has removed the job's folder."),
    },
  },
  getFile: {
    method: "get",
    path: "/orders/{order}/files/{file}",
    summary: "One file of the job that made an order",
    description: "Takes `Range` and `If-None-Match`.",
    access: "token",
    parameters: [ORDER, inPath("file", "Name of the file.")],
    replies: {
      200: { description: "The file, with its own media type.", content: { "*/*": BINARY } },
      206: { description: "The part that was asked for.", content: { "*/*": BINARY } },
      304: { description: "Not changed." },
      404: problem("Nobody here knows this order, or its job has no such file."),
      409: NOT_MADE,
      410: problem("The shop has removed the job's folder."),
      416: problem("The file has no such part."),
    },
  },
  makeTicket: {
    method: "post",
    path: "/orders/{order}/ticket",
    summary: "A ticket for a store's page, which may then hear of this one order without a token",
    access: "token",
    parameters: [ORDER],
    replies: { 201: json("The ticket.", ref("Ticket")), 404: UNKNOWN },
  },
  watchOrder: {
    method: "get",
    path: "/orders/{order}/events",
    summary: "Changes of an order's state as server-sent events, the present one first, until its end",
    access: "ticket",
    parameters: [
      ORDER,
      {
        name: "ticket",
        in: "query",
        description: "In place of a token, which a page cannot send.",
        schema: { type: "string", maxLength: 100 },
      },
    ],
    replies: {
      200: { description: "Events `change`, data: Change.", content: { "text/event-stream": { type: "string" } } },
      404: UNKNOWN,
    },
  },
  watchOrders: {
    method: "get",
    path: "/events",
    summary: "Changes of all orders' states as server-sent events",
    description:
      "`Last-Event-ID` goes on after that event. The last 20,000 changes of the queue are kept; who was away for longer asks for the orders.",
    access: "token",
    parameters: [
      {
        name: "last-event-id",
        in: "header",
        description: "The last event that was seen.",
        schema: { type: "string", pattern: "^[0-9]{1,20}(-[0-9]{1,20})?$" },
      },
    ],
    replies: {
      200: { description: "Events `change`, data: Change.", content: { "text/event-stream": { type: "string" } } },
    },
  },
  listKits: {
    method: "get",
    path: "/kits",
    summary: "Kits that can be ordered",
    access: "token",
    parameters: [],
    replies: { 200: json("The kits.", ref("Kits")) },
  },
  getKit: {
    method: "get",
    path: "/kits/{kit}",
    summary: "Pieces and slots of a kit, and what is wrong with it",
    access: "token",
    parameters: [KIT],
    replies: {
      200: json("The kit.", ref("Kit")),
      404: problem("There is no such kit."),
      422: problem("The kit cannot be used; `findings` say why."),
    },
  },
  previewPiece: {
    method: "post",
    path: "/kits/{kit}/pieces/{piece}/preview",
    summary: "A piece with the words of a copy, as it looks when cut",
    description:
      "PNG with all outside of the cut clear. With `Accept: application/json` the picture comes with its findings, words at fault left out; else findings that are errors are 422.",
    access: "token",
    parameters: [KIT, inPath("piece", "Name of the piece.")],
    body: ref("PreviewRequest"),
    replies: {
      200: { description: "The picture.", content: { "image/png": BINARY, "application/json": ref("Preview") } },
      404: problem("There is no such kit."),
      422: problem("The words or the kit are at fault; `findings` say why."),
    },
  },
  document: {
    method: "get",
    path: "/openapi.json",
    summary: "This document",
    access: "none",
    parameters: [],
    replies: { 200: json("OpenAPI 3.1.", { type: "object" }) },
  },
  live: {
    method: "get",
    path: "/live",
    summary: "Whether this process answers",
    access: "none",
    parameters: [],
    replies: { 200: { description: "It does.", content: { "text/plain": { type: "string" } } } },
  },
  health: {
    method: "get",
    path: "/health",
    summary: "Whether orders are taken: Redis is there, and the server does not stop",
    access: "none",
    parameters: [],
    replies: {
      200: { description: "They are.", content: { "text/plain": { type: "string" } } },
      503: { description: "Why not.", content: { "text/plain": { type: "string" } } },
    },
  },
  metrics: {
    method: "get",
    path: "/metrics",
    summary: "Counts for who is on duty, in the text format of Prometheus",
    description: "Requests, webhooks and listeners of this server, orders by state of the whole queue, memory.",
    access: "token",
    parameters: [],
    replies: { 200: { description: "The counts.", content: { "text/plain": { type: "string" } } } },
  },
} as const satisfies Record<string, Operation>;

/** Names of the operations, as `operationId` has them. */
export type OperationName = keyof typeof OPERATIONS;

/** What any operation may answer besides; those with a token only where one is asked for. */
export const anyReplies = ({ access, body, upload }: Operation): Readonly<Record<number, Reply>> => ({
  400: problem("The request is not as this document has it."),
  ...(access === "none" ? {} : { 401: problem("No token of this server.") }),
  ...(body ? { 413: problem("The body is too large."), 415: problem("The body is not JSON.") } : {}),
  ...(upload ? { 413: problem("The picture is too large."), 415: problem("The body is no picture.") } : {}),
  429: problem("Too many requests; `Retry-After` says when to come again."),
  500: problem("A fault of this server's."),
  503: problem("Redis or the shop's disk is away, or the server stops; come again."),
});
