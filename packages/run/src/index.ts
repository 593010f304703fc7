import "./node-version.ts";
export {
  type Caution,
  cautionsFor,
  type Job,
  type JobFile,
  jobJson,
  type JobSheet,
  totalsOf,
} from "@kitforme/files/record";
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
export type { Checked, CheckOptions, ToCheck } from "./check.ts";
export { check, estimateJob, fitJob, openPreviews, partWriter, remake, reprint, run, weigh } from "./doors.ts";
export type { Estimated, EstimateOptions } from "./estimate.ts";
export { type Estimate, estimateJson, type PriceRow } from "@kitforme/papers/estimate";
export type { Fitted, ReadJobFile } from "./fit.ts";
export { besideFile, inMemory, jobFolder, kitsAt, kitsIn } from "./folders.ts";
export { type CacheBehind, FolderCache } from "./folder-cache.ts";
export { layWhole } from "./lay-whole.ts";
export { makeFolder } from "./make-folder.ts";
export { type OpeningBounds, Openers } from "./outside/openers.ts";
export { profilesBeside } from "./profiles-beside.ts";
export type { Input } from "./read-all.ts";
export type { Options, Outcome } from "./run.ts";
export { sealed, unsealed } from "./sealed.ts";
export type { PartWriter, SharedStage, Sharing, Taken } from "./spread/sharing.ts";
export { SUMS, sumsIn } from "./sums/sums-in.ts";
export { hashProgram } from "./hash-program.ts";
export { versions } from "./versions.ts";
export { type Destination, type GrowingFile, type KitStore, type Named, type Progress, Unfit } from "./world.ts";
export { FailedRun, type Failure, failureOf } from "./failures.ts";
export { type Attempt, attemptAt, HoldsAnotherJob, isFinished, publishFolder } from "./publish.ts";
export type { Weighed } from "./weigh.ts";
export type { Fits, Preview, PreviewInput, Previews } from "./preview/open-previews.ts";
export type { PreviewOptions } from "./preview/opened.ts";
export type { Flaws } from "./preview/flaws-of.ts";
export type { Bounds } from "@kitforme/threads";
