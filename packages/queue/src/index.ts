export { cancelOrder, failedOrders, retryOrder } from "./change.ts";
export { freezeKit } from "./freeze.ts";
export type { WorkEvents, WorkSettings } from "./context.ts";
export { freezeTogether } from "./freeze-together.ts";
export { type CacheLooks, HouseMemory } from "./house-memory.ts";
export { type Health, startHealth } from "./health.ts";
export { type Metrics, metricsOf, type Watched } from "./metrics.ts";
export { gaugesOfQueue } from "./queue-gauges.ts";
export { STAGES, type Stage, type Step, type StepName } from "./step.ts";
export { type PrintRun, type PrintRunEnd, printRun } from "./jobs/print-run.ts";
export {
  type Again,
  type Answer,
  ENDS,
  type Gang,
  type Keys,
  keysOf,
  type State,
  STATES,
} from "./keys.ts";
export { type AgainHow, printAgain, type PrintedAgain } from "./print-again.ts";
export { kitsOnShare } from "./jobs/share.ts";
export { cacheIn, kitOf, uploadsIn } from "./places.ts";
export { Plans } from "./plans.ts";
export { type Closed, type GangRules, type Moment, planGangs, type Pool, type Waiting } from "./plan-gangs.ts";
export { askingRedis, RedisAway, withoutPassword, withRedis, wordsOf, workerRedis } from "./redis.ts";
export { type Counts, countsOf, type OrderStatus, statusOf, type StatusQuery } from "./status.ts";
export {
  type FrozenHouse,
  type House,
  type Submission,
  type Submitted,
  type SubmitHow,
  submitOrders,
} from "./submit.ts";
export { faultsOfCache, faultsOfFolders, warningsOfRedis } from "./surroundings.ts";
export { type Change, changeOf, changesAfter, newestChange, nextChanges, watchOrders } from "./watch.ts";
export { addressOf, type Listed, type ObjectStore, openStore, type StoreAddress } from "./store/object-store.ts";
export { startWork, type Working } from "./work.ts";
