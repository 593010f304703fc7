// Types of the front door as programs use them: what compiles, and what must not. Compiled by tests/command/reference.test.ts.
import {
  check,
  type Checked,
  type Destination,
  type Estimate,
  estimateJob,
  type Finding,
  fitJob,
  inMemory,
  type Job,
  jobFolder,
  type KitStore,
  kitsIn,
  type Named,
  type Outcome,
  type Previews,
  openPreviews,
  remake,
  run,
} from "@kitforme/run";

type Equal<A, B> = (<T>() => T extends A ? 1 : 2) extends <T>() => T extends B ? 1 : 2 ? true : false;
const same = <T extends true>(): T | undefined => undefined;

declare const shop: Named;
declare const kits: KitStore;
declare const finding: Finding;

const outcome = await run({ shop, orders: [shop] }, { kits, out: () => jobFolder("out") });
same<Equal<typeof outcome, Outcome>>();
same<Equal<Outcome["job"], Job | undefined>>();
same<Equal<Outcome["findings"], readonly Finding[]>>();
same<Equal<Finding["level"], "error" | "warning" | "note">>();
same<Equal<Awaited<ReturnType<typeof check>>, Checked>>();
same<Equal<Awaited<ReturnType<typeof remake>>, Outcome>>();
same<Equal<ReturnType<typeof kitsIn>, KitStore>>();
same<Equal<NonNullable<Awaited<ReturnType<typeof openPreviews>>["value"]>, Previews>>();
const destination: Destination = inMemory();
const estimate: Estimate | undefined = (await estimateJob({ shop, orders: [] }, kits, { effort: "best" })).estimate;
await fitJob(() => Promise.resolve(undefined), 1, "{}");

// @ts-expect-error a job may be absent: findings must be looked at
export const sheets = outcome.job.sheets;
// @ts-expect-error efforts are named, never seconds
await run({ shop, orders: [] }, { kits, out: () => destination }, { effort: 30 });
// @ts-expect-error there is no default place to write to
await run({ shop, orders: [] }, { kits });
// @ts-expect-error findings are data that nobody changes
finding.level = "note";
// @ts-expect-error a text without a name cannot be reported on
await check({ shop: { text: "{}" }, orders: [] }, kits);

export { estimate };
