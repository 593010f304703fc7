import "./node-version.ts";
export { type Caution, cautionsFor, type Job, type JobFile, jobJson, type JobSheet, totalsOf } from "@kitforme/files";
export type {
  Answer,
  Finding,
  FindingView,
  FurtherPlace,
  Kit,
  Level,
  Order,
  OrderLine,
  Piece,
  Place,
  Press,
  Prices,
  Shop,
  Stock,
} from "@kitforme/kit";
export { hasErrors, schemaOf } from "@kitforme/kit";
export { byName, shelve, type Shelved } from "./shelf.ts";
export type { Effort } from "@kitforme/layout";
export type { Placed, Sheet } from "@kitforme/sheet";
export { check, type Checked, type ToCheck } from "./check.ts";
export { type Estimated, estimateJob, type EstimateOptions } from "./estimate.ts";
export { type Estimate, estimateJson, type PriceRow } from "@kitforme/papers";
export { type Fitted, fitJob, type ReadJobFile } from "./fit.ts";
export { besideFile, inMemory, jobFolder, kitsAt, kitsIn } from "./folders.ts";
export { FolderCache } from "./folder-cache.ts";
export { makeFolder } from "./make-folder.ts";
export { type OpeningBounds, Openers } from "./outside/openers.ts";
export { profilesBeside } from "./profiles-beside.ts";
export type { Input } from "./read-all.ts";
export { remake } from "./remake.ts";
export { type Options, type Outcome, run } from "./run.ts";
export { writePart } from "./spread/part.ts";
export type { Sharing, Taken } from "./spread/sharing.ts";
export { VERSIONS } from "./versions.ts";
export { type Destination, type GrowingFile, type KitStore, type Named, type Progress, Unfit } from "./world.ts";
export { FailedRun, type Failure, failureOf } from "./failures.ts";
export { type Attempt, attemptAt, HoldsAnotherJob, isFinished, publishFolder } from "./publish.ts";
export { type Weighed, weigh } from "./weigh.ts";
export {
  type Fits,
  openPreviews,
  type Preview,
  type PreviewInput,
  type Previews,
} from "./preview/open-previews.ts";
export type { PreviewOptions } from "./preview/opened.ts";
export type { Flaws } from "./preview/flaws-of.ts";
export type { Bounds } from "@kitforme/threads";
