export { openapi } from "./openapi/document.ts";
export { type Operation, OPERATIONS, type OperationName } from "./openapi/operations.ts";
export type { ProblemBody } from "./problem.ts";
export { type Serving, startServe } from "./serve.ts";
export type { ServeEvents, ServeSettings } from "./settings.ts";
export { readTokens } from "./tokens.ts";
export { readSecret, signatureOf } from "./webhook.ts";
