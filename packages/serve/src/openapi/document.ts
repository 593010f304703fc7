import { anyReplies, type Operation, OPERATIONS } from "./operations.ts";
import { ref, SCHEMAS } from "./schemas.ts";

/** Version of the interface: its first number grows when something is taken away. */
const VERSION = "1.0.0";

const partOf = (operationId: string, operation: Operation): object => {
  const { summary, description, access, parameters, body, upload, replies } = operation;
  const all = { ...anyReplies(operation), ...replies };
  return {
    operationId,
    summary,
    ...(description ? { description } : {}),
    ...(access === "none" ? { security: [] } : {}),
    ...(access === "ticket" ? { security: [{ token: [] }, { ticket: [] }] } : {}),
    ...(parameters.length > 0
      ? { parameters: parameters.map((p) => (p.in === "path" ? { ...p, required: true } : p)) }
      : {}),
    ...(body ? { requestBody: { required: true, content: { "application/json": { schema: body } } } } : {}),
    ...(upload
      ? { requestBody: { required: true, content: Object.fromEntries(upload.map((type) => [type, {}])) } }
      : {}),
    responses: Object.fromEntries(
      Object.entries(all).map(([status, { description, content }]) => [
        status,
        {
          description,
          ...(content
            ? { content: Object.fromEntries(Object.entries(content).map(([type, schema]) => [type, { schema }])) }
            : {}),
        },
      ]),
    ),
  };
};

/** The OpenAPI 3.1 document, made from the operations that the routes are made from and the forms of the files. */
export const openapi = (): object => {
  const paths: Record<string, Record<string, object>> = {};
  for (const [id, operation] of Object.entries<Operation>(OPERATIONS))
    paths[operation.path] = { ...paths[operation.path], [operation.method]: partOf(id, operation) };
  return {
    openapi: "3.1.1",
    info: {
      title: "kitforme",
      version: VERSION,
      summary: "Orders for printable paper kits in; states, files, findings and previews out.",
      license: { name: "MIT", identifier: "MIT" },
    },
    servers: [{ url: "/" }],
    security: [{ token: [] }],
    paths,
    webhooks: {
      change: {
        post: {
          operationId: "change",
          summary: "A change of an order's state, where the shop sends webhooks",
          description:
            "Signed: `kitforme-signature` is v1= and the hexadecimal HMAC-SHA-256, under the common secret, of the timestamp in `kitforme-timestamp` (seconds since 1970), a full stop and the body. Sent again with growing waits until a 2xx comes, so a change can come twice and changes can come out of order: `id` tells.",
          requestBody: { required: true, content: { "application/json": { schema: ref("Change") } } },
          responses: { "2XX": { description: "Taken." } },
        },
      },
    },
    components: {
      schemas: SCHEMAS,
      securitySchemes: {
        token: { type: "http", scheme: "bearer", description: "A token of the shop's file of tokens." },
        ticket: { type: "apiKey", in: "query", name: "ticket", description: "For one order and an hour." },
      },
    },
  };
};
