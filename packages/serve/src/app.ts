import { randomUUID } from "node:crypto";
import rateLimit from "@fastify/rate-limit";
import send from "@fastify/send";
import Fastify, { type FastifyInstance, type FastifyReply, type FastifyRequest } from "fastify";
import { hasErrors } from "@kitforme/run";
import type { Feed } from "./feed.ts";
import { openapi } from "./openapi/document.ts";
import { type Operation, type OperationName, OPERATIONS } from "./openapi/operations.ts";
import type { Metrics } from "./metrics.ts";
import type { OpenKits } from "./previews.ts";
import { bodyOf, Problem, problemOf } from "./problem.ts";
import { bytesOf, copyOf, spoiledOf, textOf } from "./read-body.ts";
import { eventsOf } from "./routes/events.ts";
import { filesOf } from "./routes/files.ts";
import { type HowAsked, ordersOf } from "./routes/orders.ts";
import { MOST_PICTURE, picturesOf } from "./routes/pictures.ts";
import type { Context } from "./settings.ts";
import type { Tokens } from "./tokens.ts";
import { typeOf } from "./types-of-files.ts";

/** What the routes lean on. */
export interface Parts {
  readonly tokens: Tokens;
  readonly feed: Feed;
  readonly kits: OpenKits;
  readonly metrics: Pick<Metrics, "page">;
  /** Why no orders are taken; undefined when they are. */
  readonly trouble: () => string | undefined;
}

const BODY = 8 << 20;
/** Media types of pictures. */
const BYTES = /^(?:image\/[\w.+-]+|application\/octet-stream)(?:;.*)?$/;
const RATE = 1_000;
/** Requests a second from one address that bear no token: enough for a page's events, too few to guess a token. */
const RATE_UNKNOWN = 20;
/** Milliseconds that a request may take to come in. */
const COMING_IN = 30_000;

type Params = Readonly<Record<"order" | "file" | "kit" | "piece" | "sha256", string>>;
type Answer = (request: FastifyRequest, reply: FastifyReply) => unknown;

const paramsOf = (request: FastifyRequest): Params => request.params as Params;
/** The server, with every route of the operations. `close` it: it finishes what it is answering. */
export const appOf = async (at: Context, parts: Parts): Promise<{ app: FastifyInstance; endEvents: () => void }> => {
  const { settings, events } = at;
  const { tokens, kits } = parts;
  const app = Fastify({
    logger: false,
    bodyLimit: settings.body ?? BODY,
    requestTimeout: COMING_IN,
    routerOptions: { maxParamLength: 3_000 },
    exposeHeadRoutes: false,
    trustProxy: settings.proxy ? [...settings.proxy] : false,
    genReqId: () => randomUUID(),
    ajv: { customOptions: { removeAdditional: false, coerceTypes: "array" } },
    frameworkErrors: (error, _, reply) => void say(reply, new Problem(error.statusCode ?? 400, error.message)),
  });
  const say = (reply: FastifyReply, problem: Problem): FastifyReply =>
    reply
      .code(problem.status)
      .headers(problem.status === 503 ? { "retry-after": "5" } : {})
      .type("application/problem+json")
      .send(JSON.stringify(bodyOf(problem)));

  const callers = new WeakMap<FastifyRequest, string>();
  const nameOf = (request: FastifyRequest): string | undefined => {
    const name = callers.get(request) ?? tokens.nameOf(request.headers.authorization);
    if (name !== undefined) callers.set(request, name);
    return name;
  };
  await app.register(rateLimit, {
    timeWindow: 1_000,
    max: (_, key) => (key.startsWith("name ") ? (settings.rate ?? RATE) : RATE_UNKNOWN),
    keyGenerator: (request) => {
      const name = nameOf(request);
      return name === undefined ? `address ${request.ip}` : `name ${name}`;
    },
    errorResponseBuilder: () => new Problem(429, "Too many requests."),
  });

  app.removeAllContentTypeParsers();
  app.addContentTypeParser("application/json", { parseAs: "string" }, (_, text, done) => done(null, text));
  app.addContentTypeParser(BYTES, { parseAs: "buffer" }, (_, bytes, done) => done(null, bytes));
  app.setErrorHandler((error, _, reply) => {
    const problem = problemOf(error);
    if (problem.status === 500) events.onTrouble?.("a request", error as Error);
    if (problem.status === 401) reply.header("www-authenticate", "Bearer");
    return say(reply, problem);
  });
  app.setNotFoundHandler({ preHandler: app.rateLimit() }, (_, reply) =>
    say(reply, new Problem(404, "There is no such address here; /openapi.json lists all.")),
  );
  app.addHook("onSend", async (_, reply) => {
    reply.header("x-content-type-options", "nosniff");
    if (!reply.hasHeader("cache-control")) reply.header("cache-control", "no-store");
  });
  app.addHook("onResponse", async (request, reply) => {
    const { order } = (request.params ?? {}) as Partial<Params>;
    const name = callers.get(request);
    events.onRequest?.({
      method: request.method,
      route: request.routeOptions.url ?? "none",
      ...(order === undefined ? {} : { order }),
      ...(name === undefined ? {} : { name }),
      status: reply.statusCode,
      ms: Math.round(reply.elapsedTime),
    });
  });

  const pictures = picturesOf(at);
  const orders = ordersOf(at, pictures);
  const files = filesOf(at);
  const changes = eventsOf(at, parts.feed);
  const document = openapi();
  const how = (request: FastifyRequest): HowAsked => request.query as HowAsked;
  const fresh = (reply: FastifyReply, body: Awaited<ReturnType<typeof orders.put>>) =>
    reply.code(body.orders.some((o) => o.fresh) ? 201 : 200).send(body);

  const asOf = (request: FastifyRequest) => {
    const { as } = request.query as { readonly as?: string };
    return as === undefined ? {} : { as: as.normalize("NFC") };
  };
  const again = (reply: FastifyReply, { status, fresh: isNew }: Awaited<ReturnType<typeof orders.again>>) =>
    reply.code(isNew ? 201 : 200).send(status);

  const ANSWERS: Record<OperationName, Answer> = {
    putOrder: async (request, reply) =>
      fresh(reply, await orders.put(paramsOf(request).order, textOf(request), how(request))),
    postOrders: async (request, reply) => fresh(reply, await orders.post(textOf(request), how(request))),
    putPicture: async (request, reply) =>
      reply.code(201).send(await pictures.take(paramsOf(request).sha256, bytesOf(request))),
    listOrders: (request) => orders.list(request.query as Parameters<typeof orders.list>[0]),
    getOrder: (request) => orders.status(paramsOf(request).order),
    cancelOrder: (request) => orders.cancel(paramsOf(request).order),
    retryOrder: (request) => orders.retry(paramsOf(request).order),
    reprintOrder: async (request, reply) => again(reply, await orders.again(paramsOf(request).order, asOf(request))),
    remakeOrder: async (request, reply) =>
      again(
        reply,
        await orders.again(paramsOf(request).order, { ...asOf(request), spoiled: spoiledOf(textOf(request)) }),
      ),
    getFindings: (request) => orders.findings(paramsOf(request).order),
    listFiles: (request) => files.list(paramsOf(request).order),
    getFile: async (request, reply) => {
      const { order, file } = paramsOf(request);
      const root = await files.find(order, file);
      const { statusCode, headers, stream } = await send(request.raw, encodeURIComponent(file), {
        root,
        index: false,
        dotfiles: "deny",
        cacheControl: false,
      });
      if (statusCode === 416) throw new Problem(416, "The file has no such part.");
      if (statusCode >= 400) throw new Problem(404, "The job has no such file.");
      return reply
        .code(statusCode)
        .headers({
          ...headers,
          "cache-control": "private, no-cache",
          "content-disposition": `attachment; filename="${file}"`,
          "content-security-policy": "sandbox",
        })
        .type(typeOf(file))
        .send(stream);
    },
    makeTicket: async (request, reply) => reply.code(201).send(await changes.ticket(paramsOf(request).order)),
    watchOrder: (request, reply) => changes.one(request, reply, paramsOf(request).order),
    watchOrders: (request, reply) => changes.all(request, reply),
    listKits: async () => ({ kits: await kits.list() }),
    getKit: (request) =>
      kits.use(paramsOf(request).kit, async ({ kit, pieces, findings }) => ({ kit, pieces, findings })),
    previewPiece: async (request, reply) => {
      const { kit, piece } = paramsOf(request);
      const copy = copyOf(textOf(request));
      const { png, findings } = await kits.use(kit, (previews) => previews.preview(piece, copy));
      if (/application\/json/.test(request.headers.accept ?? ""))
        return { ...(png ? { png: Buffer.from(png).toString("base64") } : {}), findings };
      if (!png || hasErrors(findings)) throw new Problem(422, "The piece cannot be shown so.", { findings });
      return reply.type("image/png").send(Buffer.from(png));
    },
    document: () => document,
    metrics: async (_, reply) => {
      const { type, text } = await parts.metrics.page();
      return reply.type(type).send(text);
    },
    live: (_, reply) => reply.type("text/plain").send("live\n"),
    health: (_, reply) => {
      const trouble = parts.trouble();
      return reply
        .code(trouble === undefined ? 200 : 503)
        .type("text/plain")
        .send(trouble === undefined ? "ready\n" : `not ready: ${trouble}\n`);
    },
  };

  const guard = (operation: Operation) => async (request: FastifyRequest) => {
    if (operation.access === "none" || nameOf(request) !== undefined) return;
    const { ticket } = request.query as { ticket?: string };
    if (operation.access === "ticket" && ticket && (await changes.opens(ticket, paramsOf(request).order))) return;
    throw new Problem(401, "A token of this server is wanted: Authorization: Bearer TOKEN.");
  };
  for (const [id, operation] of Object.entries<Operation>(OPERATIONS))
    app.route({
      method: operation.method.toUpperCase(),
      url: operation.path.replaceAll(/\{(\w+)\}/g, ":$1"),
      schema: schemaOfRoute(operation),
      // After the count of requests, before the body is read.
      preParsing: async (request) => guard(operation)(request),
      config: id === "live" || id === "health" ? { rateLimit: false } : {},
      ...(operation.upload ? { bodyLimit: MOST_PICTURE } : {}),
      handler: ANSWERS[id as OperationName],
    });
  return { app, endEvents: changes.close };
};

/** Queries hold what the document names and nothing else. */
const schemaOfRoute = ({ parameters }: Operation) => {
  const of = (place: "query" | "header") =>
    Object.fromEntries(parameters.filter((p) => p.in === place).map(({ name, schema }) => [name, schema]));
  return {
    querystring: { type: "object", properties: of("query"), additionalProperties: false },
    headers: { type: "object", properties: of("header") },
  };
};
