// A process that was suspended while another took its gang: whatever it does when it wakes harms nobody.
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { hashes } from "../support/command.ts";
import { bench, until, workDoomed, workHere } from "../support/queue.ts";

const own = (out: string, folder: string): string[] => {
  const at = join(out, ".kitforme", folder);
  return existsSync(at) ? readdirSync(at) : [];
};

describe("a suspended worker", () => {
  it("that wakes when its gang is made stops at once, and neither files nor answer change", async () => {
    const at = bench();
    const file = at.order(
      "Q-L",
      Array.from({ length: 60 }, (_, i) => `Boat ${i}`),
    );
    await at.submit(file);
    const first = await workDoomed(at);
    await at.midst("Q-L");
    first.child.kill("SIGSTOP");
    const second = workHere(at);
    const [made] = await at.ended("Q-L");
    expect(made?.state).toBe("made");
    const folder = made?.answer?.end === "made" ? made.answer.folder : "not made";
    const before = hashes(folder);
    first.child.kill("SIGCONT");
    await until("the first to know", () => first.log().includes("lost"), 20);
    await new Promise((r) => void setTimeout(r, 1_500));
    expect(await at.status("Q-L")).toEqual(made);
    expect(hashes(folder)).toEqual(before);
    expect(before).toEqual(await at.madeAlone(file));
    expect(at.jobs().length).toBe(1);
    expect(await first.stop("SIGTERM")).toBe(0);
    await second.stop();
    expect(own(at.out, "attempts")).toEqual([]);
  });

  it("that wakes while its gang is made elsewhere does not end it, nor take its folder away", async () => {
    const at = bench();
    const file = at.order(
      "Q-L",
      Array.from({ length: 60 }, (_, i) => `Ship ${i}`),
    );
    await at.submit(file);
    const first = await workDoomed(at);
    await at.midst("Q-L");
    first.child.kill("SIGSTOP");
    const token = async () => await at.redis.hget(`${at.keys.prefix}-gang:g2`, "token");
    const old = await token();
    workHere(at);
    await until("the second to claim it", async () => {
      const now = await token();
      return now !== null && now !== "" && now !== old;
    });
    first.child.kill("SIGCONT");
    const [made] = await at.ended("Q-L");
    expect(made?.state).toBe("made");
    const folder = made?.answer?.end === "made" ? made.answer.folder : "not made";
    expect(hashes(folder)).toEqual(await at.madeAlone(file));
    expect(first.log()).toContain("lost");
    // It was alive all the time: it does not count as killed by its order.
    expect(await first.stop("SIGTERM")).toBe(0);
    expect(at.jobs().length).toBe(1);
  });

  it("that had passed the point of no return finds its folder already in its place", async () => {
    const at = bench();
    const file = at.order("Q-1", ["Solveig"]);
    await at.submit(file);
    const first = workHere(at);
    const [made] = await at.ended("Q-1");
    await first.stop();
    // The same gang as a killed process leaves it between commit and end: its folder waits among the attempts.
    const answer = made?.answer;
    if (answer?.end !== "made") throw new Error("not made");
    const P = at.keys.prefix;
    const { renameSync, mkdirSync } = await import("node:fs");
    mkdirSync(join(at.out, ".kitforme/attempts"), { recursive: true });
    const whole = hashes(answer.folder);
    renameSync(answer.folder, join(at.out, ".kitforme/attempts/g9.7-dead"));
    await at.redis
      .multi()
      .del(`${P}-answer:Q-1`)
      .hset(`${P}-gang:g9`, { orders: '["Q-1"]', effort: "quick", shop: "", kits: "", closed: "call", why: "" })
      .hset(`${P}-gang:g9`, { lane: "orders", priority: "5", token: "7-dead", holder: "dead" })
      .hset(`${P}-gang:g9`, {
        intent: JSON.stringify({ token: "7-dead", job: answer.job }),
        answers: JSON.stringify([["Q-1", answer]]),
      })
      .zadd(`${P}-gangs`, 1, "g9")
      .exec();
    workHere(at);
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(hashes(answer.folder)).toEqual(whole);
    expect(own(at.out, "attempts")).toEqual([]);
    expect(JSON.parse(readFileSync(join(answer.folder, "job.json"), "utf8"))).toMatchObject({ orders: ["Q-1"] });
  });
});
