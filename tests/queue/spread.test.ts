// One gang written by two worker processes: stopped, suspended and killed in the midst of it.
import { existsSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { expect, it, onTestFinished } from "vitest";
import { hashes } from "../support/command.ts";
import { type Bench, bench, until, workDoomed } from "../support/queue.ts";

const NAMES = Array.from({ length: 40 }, (_, i) => `Boat ${i}`); // three sheets of card, one of board

let alone: Promise<Record<string, string>> | undefined;

/** Some workers and one order, until one of them makes it and the others each write a sheet of it. */
const shared = async (count: number) => {
  const at = bench();
  const order = at.order("S-1", NAMES);
  alone ??= at.madeAlone(order);
  await alone;
  const all = await Promise.all(Array.from({ length: count }, () => workDoomed(at)));
  onTestFinished(() => void all.map(({ child }) => child.kill("SIGKILL")));
  await at.submit(order);
  const id = await until("the others to write sheets", async () => {
    const now = (await at.redis.zrange(`${at.keys.prefix}-gangs`, "0", "0"))[0];
    return now !== undefined && (await at.redis.zcard(`${at.keys.prefix}-held:${now}`)) === count - 1 ? now : undefined;
  });
  const holder = (await at.redis.hget(`${at.keys.prefix}-gang:${id}`, "holder")) ?? "";
  const isMaker = ({ child }: (typeof all)[number]) => holder.includes(`-${child.pid}-`);
  const [maker, [helper, second]] = [all.find(isMaker), all.filter((one) => !isMaker(one))];
  if (!maker || !helper) throw new Error(`${holder} is none of the workers`);
  return { at, maker, helper, second };
};

const made = async (at: Bench, end: () => Promise<unknown> = () => Promise.resolve()): Promise<void> => {
  expect((await at.ended("S-1"))[0]?.state).toBe("made");
  expect(at.jobs().length).toBe(1);
  expect(hashes(join(at.out, at.jobs()[0] as string))).toEqual(await alone);
  // What a killed maker left is swept away now and then, and by who stops.
  await end();
  const own = join(at.out, ".kitforme");
  const left = (folder: string) => (existsSync(join(own, folder)) ? readdirSync(join(own, folder)) : []);
  await until("what was handed over to be gone", () => left("parts").length + left("attempts").length === 0);
  // Nothing of the offer stays in Redis.
  const keys = await at.redis.keys(`${at.keys.prefix}-*`);
  expect(keys.filter((key) => /-(offers|share|free|own|held|by|written)(:|$)/.test(key))).toEqual([]);
};

it("is made whole when of those that help one is suspended, which does nothing when it wakes up, and one is killed", async () => {
  const { at, maker, helper, second } = await shared(3);
  helper.child.kill("SIGSTOP");
  await second?.stop("SIGKILL");
  await made(at);
  const before = hashes(join(at.out, at.jobs()[0] as string));
  helper.child.kill("SIGCONT");
  // It is at work again when it takes the next order, alone.
  await maker.stop();
  await at.submit(at.order("S-2", ["Aino"]));
  await at.ended("S-2");
  const first = at.jobs().find((job) => existsSync(join(at.out, job, "sheet-003.proof.png")));
  expect(hashes(join(at.out, first ?? ""))).toEqual(before);
  expect(readdirSync(join(at.out, ".kitforme", "parts"))).toEqual([]);
  await helper.stop();
});

it("is made anew by the one that helped when its maker is killed", async () => {
  const { at, maker, helper } = await shared(2);
  await maker.stop("SIGKILL");
  await made(at, () => helper.stop());
});
