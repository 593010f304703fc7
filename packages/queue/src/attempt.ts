// One attempt at a gang from claim to end: what may happen at each step is read in one place.
import { rm, stat } from "node:fs/promises";
import { join } from "node:path";
import { failureOf, makeFolder, type Progress, publishFolder } from "@kitforme/run";
import type { Context } from "./context.ts";
import type { RunEnd } from "./jobs/print-run.ts";
import type { AgainTask } from "./jobs/again-into.ts";
import type { MakeTask } from "./jobs/tasks.ts";
import type { Again, Answer, Gang, Lane, OrderText } from "./keys.ts";
import { storeMustBeThere } from "./freeze.ts";
import { attemptOf, attemptsIn, partsOf, shopOf } from "./places.ts";
import { script } from "./scripts.ts";
import { shareGang } from "./share-gang.ts";
import { timeStages } from "./step.ts";
import { fetchFrozen, frozenFor } from "./store/frozen-in-store.ts";
import { addressOfJob, fetchRecord, sendJob } from "./store/job-in-store.ts";
import { dropParts, throughStore } from "./store/parts-in-store.ts";
import { faultOfOutNow, fullRedis } from "./surroundings.ts";
import { fieldsOf } from "./waiting.ts";

/** So many different processes may die over a gang; then its orders are made one by one, and the one that goes on killing fails. */
const MOST_KILLS = 3;
/** Milliseconds between two looks whether the claim still holds. */
const BEAT = 700;
const LAST_WAIT = 60_000;

/** What the script `begin` gives: token, kills, intent, answers, orders, effort, shop, kits, closed, why, and 1 when it was a dead process's. */
type Begun = [string, number, string, string, string, string, string, string, string, string, number];

/** How an attempt went: `ended` for good, to be tried again after some ms, handed `back` on a stop, or `lost` to another process. */
export type Attempted = "ended" | "back" | "lost" | { readonly again: number };

interface Claimed extends Gang {
  readonly token: string;
}

/** The claim is another's by now. */
class Lost extends Error {}

/** One attempt at a gang, under a claim of its own. `stop`: hand it back; `lost`: the queue says that this process has lost it. */
export const attemptGang = async (
  at: Context,
  { id, lane }: { readonly id: string; readonly lane: Lane },
  stop: AbortSignal,
  lost: AbortSignal,
): Promise<Attempted> => {
  let begun: Begun | [];
  try {
    begun = (await script(at.redis, at.keys, "begin", id, at.holder)) as Begun | [];
  } catch (error) {
    fullRedis(at, error);
    at.events.onTrouble?.(id, error as Error, true);
    return { again: at.settings.firstWait ?? 2_000 };
  }
  if (begun.length === 0) return "ended";
  const [token, kills, intent, answers, orders, effort, shop, kits, closed, why, takenOver] = begun;
  const gang: Claimed = {
    id,
    token,
    orders: JSON.parse(orders) as string[],
    effort: effort as Gang["effort"],
    shop,
    kits: kits.split("\n").filter(Boolean),
    closed,
    why,
  };
  at.events.onStep?.({ step: "claim", gang: id, orders: gang.orders, why, ...(takenOver ? { takenOver: true } : {}) });
  try {
    // An attempt before this one passed the point of no return: its folder is the gang's, and only has to be put in its place.
    if (intent && (await rollForward(at, gang, JSON.parse(intent) as Intent, answers))) return "ended";
    if (kills >= MOST_KILLS) return await sortOut(at, gang, kills);
    return await make(at, gang, lane, stop, lost);
  } catch (thrown) {
    let error = thrown;
    if (!(error instanceof Lost) && !stop.aborted) {
      // The claim may have gone to another while this one failed: then the failure is nobody's answer.
      const failing = await failed(at, gang, error).catch((inner: unknown) => {
        if (inner instanceof Lost) return inner;
        throw inner;
      });
      if (!(failing instanceof Lost)) return failing;
      error = failing;
    }
    await script(at.redis, at.keys, "release", id, token, at.holder, "");
    if (!(error instanceof Lost)) return "back";
    at.events.onLost?.(id);
    return "lost";
  } finally {
    await discard(at, gang);
  }
};

/** What was thrown: an environment fault pauses the work and is tried again for as long as it lasts; a fault of ours is an answer. */
const failed = async (at: Context, gang: Claimed, error: unknown): Promise<Attempted> => {
  const { kind, message } = failureOf(error);
  if (kind === "ours") {
    const answer: Answer = { end: "failed", gang: gang.id, reason: message };
    await finish(at, gang, new Map(gang.orders.map((order) => [order, answer])));
    at.events.onTrouble?.(gang.id, new Error(message), false);
    return "ended";
  }
  at.events.onTrouble?.(gang.id, new Error(message), true);
  const troubles = Number(await script(at.redis, at.keys, "release", gang.id, gang.token, at.holder, message));
  if (troubles < 0) return "lost";
  const fault = await faultOfOutNow(at);
  if (fault !== undefined) at.guard.trip("out", message, () => faultOfOutNow(at));
  fullRedis(at, error);
  return { again: Math.min(LAST_WAIT, (at.settings.firstWait ?? 2_000) * 2 ** Math.max(0, troubles - 1)) };
};

const make = async (
  at: Context,
  gang: Claimed,
  lane: Lane,
  stop: AbortSignal,
  lost: AbortSignal,
): Promise<Attempted> => {
  const { redis, keys, settings, threads } = at;
  const into = attemptOf(settings.out, gang.id, gang.token);
  const parts = partsOf(settings.out, gang.id, gang.token);
  const shared = shareGang(at, gang);
  const texts = await fieldsOf(redis, keys, gang.orders, "file", "text", "pictures", "again");
  const orders = gang.orders.map((name, i): OrderText => {
    const [file, text, pictures, again] = texts[i] ?? [];
    return {
      name,
      file: file ?? name,
      text: text ?? "",
      ...(pictures ? { pictures } : {}),
      ...(again ? { again: JSON.parse(again) as Again } : {}),
    };
  });
  const away = new AbortController();
  const heart = keepClaim(at, gang, () => away.abort(new Lost()));
  const stages = timeStages((step, seconds) =>
    at.events.onStep?.({ step, gang: gang.id, orders: gang.orders, seconds }),
  );
  let end: RunEnd;
  try {
    // The out folder itself is made when a worker starts; here a share that is gone must not be replaced by a folder.
    await storeMustBeThere(settings.out, at.memory);
    const task = await taskOf(at, gang, orders, lane, into);
    await makeFolder(attemptsIn(settings.out));
    end = await threads.run(task, {
      signal: AbortSignal.any([stop, lost, away.signal]),
      onProgress(progress) {
        heart.progress(progress);
        stages.progress(progress);
      },
      onTrouble: (cause) => waits(at, gang, cause),
      sharing: settings.store ? throughStore(shared, settings.store, parts) : shared,
    });
    stages.end();
  } catch (error) {
    if (lost.aborted || away.signal.aborted) throw new Lost();
    throw error;
  } finally {
    heart.stop();
  }
  const apart = gang.orders.length > 1 ? sharesNoSheet(end) : [];
  if (apart.length > 0) {
    const why = `made by itself: a spot ink of its kit has the name of one in the gang ${gang.id}, and another mixture`;
    const ids = (await script(redis, keys, "split", gang.id, gang.token, why, ...apart)) as string[];
    if (ids.length === 0) throw new Lost();
    return "ended";
  }
  const answers = answersOf(at, gang, end);
  if (!end.made) return finish(at, gang, answers);
  const intent: Intent = { token: gang.token, job: end.made.job };
  const held = await script(
    redis,
    keys,
    "commit",
    gang.id,
    gang.token,
    JSON.stringify(intent),
    JSON.stringify([...answers]),
  );
  if (held !== 1) throw new Lost();
  if (!(await rollForward(at, gang, intent, JSON.stringify([...answers])))) return { again: 0 };
  const { job, orders: made, sheets, layouts, yield: share } = end.made;
  at.events.onStep?.({ step: "publish", gang: gang.id, job, orders: made, sheets, layouts, yield: share });
  return "ended";
};

/** What a thread is given to do, and all that it needs at its place. */
const taskOf = async (
  { settings: { store, out } }: Context,
  gang: Claimed,
  orders: readonly OrderText[],
  lane: Lane,
  into: string,
): Promise<MakeTask | AgainTask> => {
  const parts = partsOf(out, gang.id, gang.token);
  const how = {
    effort: gang.effort,
    into,
    // One processor's worth each, so that as many workers as processors share them; a rush order is not to wait for that.
    lanes: lane === "rush" ? 2 : 1,
    parts,
    turn: Number.parseInt(gang.token, 10),
  };
  const [{ name, again } = {}] = orders;
  if (name !== undefined && again) {
    const from = store ? await fetchRecord(store, again.job, parts) : join(out, again.job);
    return { kind: "again", name, again, from, ...how };
  }
  if (store) await fetchFrozen(store, out, frozenFor(gang.shop, gang.kits, orders));
  await stat(shopOf(out, gang.shop));
  const alone = gang.closed === "call" || gang.closed === "split";
  return {
    kind: "make",
    orders,
    out,
    shop: gang.shop,
    kits: gang.kits,
    ...how,
    ...(alone ? {} : { gang: { closed: gang.closed, why: gang.why } }),
  };
};

/** Orders that were refused only for what was beside them: a kit that nobody can print with another is no fault of its order. */
const sharesNoSheet = ({ refused }: RunEnd): readonly string[] =>
  refused.flatMap(({ order, findings }) => {
    const errors = findings.filter(({ level }) => level === "error");
    return errors.length > 0 && errors.every(({ rule }) => rule === "spot-clash") ? [order] : [];
  });

/** A job that waits for its disk, or goes on: said in its orders, and the rest of the work pauses with it. */
const waits = (at: Context, { id, token }: Claimed, cause: string | undefined): void => {
  if (cause !== undefined) {
    at.events.onTrouble?.(id, new Error(cause), true);
    at.guard.trip("out", cause, () => faultOfOutNow(at));
  }
  void script(at.redis, at.keys, "trouble", id, token, cause ?? "").catch(() => undefined);
};

/** A committed attempt: whose, and the name of its job. */
interface Intent {
  readonly token: string;
  readonly job: string;
}

/** Puts the committed attempt in its place and ends the gang. False when its folder is nowhere, so that it has to be made again. */
const rollForward = async (at: Context, gang: Claimed, { token, job }: Intent, answers: string): Promise<boolean> => {
  const { out, store } = at.settings;
  const attempt = attemptOf(out, gang.id, token);
  // The store first: it is what others see. An attempt that lies on another machine was sent by it, or is lost with it.
  const sent = store && (await sendJob(store, attempt, job));
  const here = await publishFolder(attempt, join(out, job));
  const put = here === "gone" && sent === true ? "there" : here;
  if (put === "gone") {
    if ((await script(at.redis, at.keys, "uncommit", gang.id, gang.token)) !== 1) throw new Lost();
    return false;
  }
  await finish(at, gang, new Map(JSON.parse(answers) as [string, Answer][]));
  if (put === "there")
    await rm(attemptOf(out, gang.id, token), { recursive: true, force: true }).catch(() => undefined);
  return true;
};

const answersOf = ({ settings }: Context, gang: Claimed, { made, refused }: RunEnd): Map<string, Answer> => {
  const answers = new Map<string, Answer>(
    refused.map(({ order, findings }) => [order, { end: "refused", gang: gang.id, findings }]),
  );
  for (const order of made?.orders ?? [])
    answers.set(order, {
      end: "made",
      gang: gang.id,
      job: made?.job as string,
      folder: settings.store
        ? addressOfJob(settings.store, made?.job as string)
        : join(settings.out, made?.job as string),
      // What is printed again is called otherwise than its order; it is alone in its job.
      findings: (made?.findings ?? []).filter(
        (f) => made?.orders.length === 1 || f.where.order === undefined || f.where.order === order,
      ),
    });
  return answers;
};

const finish = async (at: Context, gang: Claimed, answers: ReadonlyMap<string, Answer>): Promise<"ended"> => {
  const args = [...answers].flatMap(([order, answer]) => [order, answer.end, JSON.stringify(answer)]);
  if ((await script(at.redis, at.keys, "finish", gang.id, gang.token, ...args)) !== 1) throw new Lost();
  at.events.onEnd?.(gang.id, answers);
  return "ended";
};

/** A gang over which too many processes died: its orders one by one; an order that goes on killing by itself fails. */
const sortOut = async (at: Context, gang: Claimed, kills: number): Promise<Attempted> => {
  if (gang.orders.length === 1) {
    const reason = `${kills} processes died or were killed while they made it, most likely for want of memory: submit it in smaller orders, or give the workers more; kitforme retry tries it again`;
    await finish(at, gang, new Map([[gang.orders[0] as string, { end: "failed", gang: gang.id, reason }]]));
    at.events.onTrouble?.(gang.id, new Error(reason), false);
    return "ended";
  }
  const why = `made by itself: ${kills} processes died over the gang ${gang.id}`;
  const ids = (await script(at.redis, at.keys, "split", gang.id, gang.token, why)) as string[];
  if (ids.length === 0) throw new Lost();
  at.events.onTrouble?.(gang.id, new Error(`${kills} processes died over it; its orders are made one by one`), true);
  return "ended";
};

/** Looks again and again whether the claim holds, and tells the queue how far the work is. */
const keepClaim = ({ redis, keys }: Context, { id, token }: Claimed, onLost: () => void) => {
  let latest = "";
  let asking = false;
  let phase = "";
  const beat = (): void => {
    if (asking || redis.status !== "ready") return;
    asking = true;
    script(redis, keys, "beat", id, token, latest)
      .then((held) => void (held === 1 || onLost()))
      .catch(() => undefined)
      .finally(() => void (asking = false));
  };
  const timer = setInterval(beat, BEAT);
  return {
    progress(progress: Progress) {
      latest = JSON.stringify(progress);
      if (progress.phase !== phase) beat();
      phase = progress.phase;
    },
    stop: () => clearInterval(timer),
  };
};

/** The attempt's folder goes when it did not become the job's, unless the queue has it for the gang's. */
const discard = async ({ redis, keys, settings }: Context, { id, token }: Claimed): Promise<void> => {
  // What others wrote lies in the attempt by now, or does not count.
  const parts = partsOf(settings.out, id, token);
  await rm(parts, { recursive: true, force: true, maxRetries: 3 }).catch(() => undefined);
  if (settings.store) await dropParts(settings.store, parts).catch(() => undefined);
  const folder = attemptOf(settings.out, id, token);
  if (!(await stat(folder).catch(() => undefined))) return;
  if (redis.status !== "ready") return; // who is cut off cannot know: the sweep does it
  const intent = await redis.hget(`${keys.prefix}-gang:${id}`, "intent").catch(() => "?");
  if (intent === "?" || (intent && (JSON.parse(intent) as Intent).token === token)) return;
  await rm(folder, { recursive: true, force: true }).catch(() => undefined);
};
