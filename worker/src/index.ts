export { main } from "./cli.ts";
export { EXIT } from "./exit.ts";
export { type Failure, failureOf } from "./jobs/failures.ts";
export { type PrintRun, type PrintRunEnd, printRun } from "./jobs/print-run.ts";
export { type Answer, type Batch, type Keys, keysOf } from "./queue/names.ts";
export { type OrderStatus, statusOf } from "./queue/status.ts";
export { type Patience, type Submission, type Submitted, submitOrders } from "./queue/submit.ts";
export { startWork, type Working, type WorkSettings } from "./queue/work.ts";
