// A thread of the pool: makes its own maps, searches the sheets it is given.
import { parentPort, workerData } from "node:worker_threads";
import { catalogueOf, roomOf } from "./catalogue-of.ts";
import { PATIENCE, REACH } from "./effort.ts";
import { empty } from "./improve.ts";
import type { Setting, Task } from "./pool.ts";

const { footprints, fields, flag } = workerData as Setting;
const catalogue = catalogueOf(footprints, fields);
const aborted = new Int32Array(flag);

parentPort?.on("message", ({ laid, seed, moves }: Task) => {
  const found = empty(catalogue, laid, roomOf(fields), seed, {
    moves,
    patience: PATIENCE,
    reach: REACH,
    aborted: () => aborted[0] !== 0,
  });
  parentPort?.postMessage(found);
});
