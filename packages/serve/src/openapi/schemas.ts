import { schemaOf } from "@kitforme/kit";
import { STATES } from "@kitforme/queue";

/** A JSON Schema (2020-12), which OpenAPI 3.1 takes as it is. */
export type Schema = Readonly<Record<string, unknown>>;

/** A form's schema as a part of another document: a name and a dialect of its own would make it a document of its own. */
const partOf = (file: "order" | "job"): Record<string, unknown> => {
  const { $schema: _dialect, $id: _name, ...schema } = schemaOf(file) as Record<string, unknown>;
  return schema;
};

const itemsOf = (field: "findings" | "files"): Schema => {
  const { properties } = partOf("job") as { properties: Record<string, { items: Schema }> };
  return properties[field]?.items ?? {};
};

export const ref = (name: keyof typeof SCHEMAS): Schema => ({ $ref: `#/components/schemas/${name}` });
const refTo = (name: string): Schema => ({ $ref: `#/components/schemas/${name}` });

const object = (properties: Record<string, Schema>, optional: readonly string[] = [], description = ""): Schema => ({
  type: "object",
  ...(description ? { description } : {}),
  properties,
  required: Object.keys(properties).filter((name) => !optional.includes(name)),
  additionalProperties: false,
});
const text = (description: string): Schema => ({ type: "string", description });
const count = (description: string): Schema => ({ type: "integer", minimum: 0, description });
const listOf = (items: Schema, description = ""): Schema => ({
  type: "array",
  items,
  ...(description ? { description } : {}),
});
const time = (description: string): Schema => ({ type: "string", format: "date-time", description });
const STATE: Schema = { type: "string", enum: [...STATES], description: "Where an order is in its life." };
const findings = listOf(refTo("Finding"), "What is wrong or worth knowing, each with its place and what to do.");

/** Every form of a body. Orders and job files are the ones of the files' own forms. */
export const SCHEMAS = {
  Order: partOf("order"),
  Finding: itemsOf("findings"),
  State: STATE,
  Orders: object({
    orders: {
      type: "array",
      minItems: 1,
      maxItems: 1_000,
      items: refTo("Order"),
      description: "Taken all or none.",
    },
  }),
  Picture: object({
    file: text("What the texts of an order name it by."),
    bytes: count("Its size."),
  }),
  Submitted: object({
    orders: listOf(
      object({
        order: text("Its name."),
        fresh: { type: "boolean", description: "false: it was here already, with the same content." },
      }),
    ),
    findings: listOf(refTo("Finding"), "Warnings and notes about the orders as written."),
  }),
  Answer: {
    description: "How an order ended.",
    oneOf: [
      object({
        end: { const: "made" },
        gang: text("The gang that it was made in."),
        job: text("The job's name."),
        folder: text("The job's folder as the shop's machines see it."),
        findings,
      }),
      object({ end: { const: "refused" }, gang: text("The gang, empty before there was one."), findings }),
      object({
        end: { const: "failed" },
        gang: text("The gang, empty before there was one."),
        reason: text("What went wrong on the shop's side."),
      }),
    ],
  },
  OrderStatus: object(
    {
      order: text("Its name."),
      state: refTo("State"),
      times: {
        type: "object",
        propertyNames: { enum: [...STATES] },
        additionalProperties: { type: "string", format: "date-time" },
        description: "When it came into each of its states.",
      },
      again: object(
        {
          kind: { enum: ["reprint", "remake"] },
          order: text("The order that was made."),
          job: text("The job that made it."),
          spoiled: listOf(text("A place, sheet:number."), "Of a remake: its pieces."),
        },
        ["spoiled"],
        "It prints something made again.",
      ),
      gang: text("The gang that makes it."),
      why: text("Why these orders are made together."),
      waits: object(
        {
          sheets: { type: "number", description: "What its gang still lacks of a full sheet." },
          until: time("When it is made at the latest."),
        },
        [],
        "What its gang still waits for.",
      ),
      progress: { description: "How far it is; for people." },
      trouble: text("Why the last try failed and another is waited for."),
      answer: refTo("Answer"),
    },
    ["again", "gang", "why", "waits", "progress", "trouble", "answer"],
  ),
  OrderList: object(
    {
      orders: listOf(refTo("OrderStatus")),
      counts: {
        type: "object",
        propertyNames: { enum: [...STATES] },
        additionalProperties: { type: "integer", minimum: 0 },
        description: "Orders of the whole queue by state.",
      },
      trouble: text("Why the queue pauses, if it does."),
      next: count("`skip` of the next page; absent on the last."),
    },
    ["trouble", "next"],
  ),
  Findings: object({ order: text("The order."), state: refTo("State"), findings }),
  Files: object({
    order: text("The order."),
    job: text("The job that made it."),
    files: listOf(
      object(
        {
          name: text("Its name."),
          type: text("Its media type."),
          bytes: count("Its size."),
          sha256: { type: "string", pattern: "^[0-9a-f]{64}$", description: "Its SHA-256; job.json has none." },
        },
        ["sha256"],
      ),
    ),
  }),
  Kits: object({
    kits: listOf(object({ kit: text("The name that orders call it by."), title: text("Its title.") }, ["title"])),
  }),
  Kit: object({
    kit: text("The kit."),
    pieces: listOf(object({ piece: text("The piece."), slots: listOf(text("A slot.")) })),
    findings,
  }),
  Spoiled: object({
    spoiled: {
      type: "array",
      minItems: 1,
      maxItems: 10_000,
      items: { type: "string", maxLength: 20 },
      description: "Places as sheet:number, as the docket has them, one for each piece.",
      examples: [["2:7", "3:1"]],
    },
  }),
  PreviewRequest: object(
    {
      copy: {
        type: "object",
        additionalProperties: { type: "string" },
        description: "The words of the copy: slot name to text.",
        examples: [{ name: "Aino" }],
      },
    },
    ["copy"],
  ),
  Preview: object(
    {
      png: { type: "string", contentEncoding: "base64", contentMediaType: "image/png" },
      findings,
    },
    ["png"],
  ),
  Ticket: object({
    ticket: text("Opens this order's events without a token, for a store's page."),
    expires: time("Until then."),
  }),
  Change: object(
    {
      id: text("Grows with time; `Last-Event-ID` goes on after it."),
      order: text("The order."),
      state: refTo("State"),
      at: time("When."),
    },
    [],
    "A change of an order's state: the data of an event, and the body of a webhook.",
  ),
  Problem: object(
    {
      type: text("about:blank: the title says what the status says."),
      title: text("The status in words."),
      status: { type: "integer", minimum: 400, maximum: 599 },
      detail: text("What is wrong and what to do."),
      state: refTo("State"),
      findings,
    },
    ["state", "findings"],
    "A problem, as RFC 9457 has it.",
  ),
} as const satisfies Record<string, Schema>;
