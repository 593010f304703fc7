// A thread of the pool: makes its own maps, searches the sheets it is given.
import { parentPort, workerData } from "node:worker_threads";
import { catalogueOf } from "../maps/catalogue-of.ts";
import { perform, type Task } from "./perform.ts";
import type { Setting } from "./pool.ts";

const { footprints, fields, draft, maps, flag } = workerData as Setting;
const catalogue = catalogueOf(footprints, fields, draft);
catalogue.adopt(maps);
const aborted = new Int32Array(flag);

parentPort?.on("message", (task: Task) => {
  parentPort?.postMessage(perform(catalogue, fields, task, () => aborted[0] !== 0));
});
