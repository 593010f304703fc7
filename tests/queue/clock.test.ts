// A worker whose clock is hours off (a machine that was suspended, or that nobody set) decides as any other does: orders bear the
// times of Redis, which all machines of a queue share.
import { countsOf } from "@kitforme/queue";
import { Redis } from "ioredis";
import { afterEach, expect, it, vi } from "vitest";
import { ganging, until, workHere } from "../support/queue.ts";

const HOUR = 3600_000;
const shiftedBy = (hours: number): void => {
  const real = Date.now.bind(Date);
  vi.spyOn(Date, "now").mockImplementation(() => real() + hours * HOUR);
};
afterEach(() => void vi.restoreAllMocks());

it("ahead by eleven hours, it lets orders wait as long as the shop says", async () => {
  const at = ganging({ fill: 0.9, wait: 600, lead: 24 });
  shiftedBy(11);
  workHere(at);
  await at.submit(at.order("Q-1", ["Solveig"]));
  const waiting = await until("the wait", async () => {
    const now = await at.status("Q-1");
    return now?.state === "waiting" && now.waits ? now : undefined;
  });
  vi.restoreAllMocks();
  const until10 = Date.parse(waiting.waits?.until ?? "") - Date.now();
  expect(until10).toBeGreaterThan(9 * HOUR);
  expect(until10).toBeLessThan(10 * HOUR);
  const redis = new Redis(at.url);
  shiftedBy(11);
  const { age } = await countsOf(redis, at.keys);
  redis.disconnect();
  expect(age).toBeLessThan(60_000);
});

it("behind by an hour, it does not take every order for one that has only just come", async () => {
  const at = ganging({ fill: 0.01, wait: 600, lead: 24 });
  shiftedBy(-1);
  workHere(at);
  await at.submit(at.order("Q-1", ["Solveig"]));
  const [made] = await at.ended("Q-1");
  expect(made?.state).toBe("made");
});
