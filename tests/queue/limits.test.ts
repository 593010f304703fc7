// Where patience, memory and lives end: a job that cannot be made is answered honestly and takes no worker with it.
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { retryOrder } from "@kitforme/queue";
import { describe, expect, it } from "vitest";
import { hashes } from "../support/command.ts";
import { bench, until, workHere, workThere } from "../support/queue.ts";

const reasonOf = (status: { answer?: object } | undefined): string =>
  status?.answer && "reason" in status.answer ? String(status.answer.reason) : "";

describe("a gang", () => {
  it("waits for as long as its environment is at fault, says which, and is made when that has cleared", async () => {
    const at = bench();
    await at.submit(at.order("Q-1", ["Solveig"]));
    // Frozen and ganged while all was well; then the folder of attempts is taken away under the worker.
    const own = join(at.out, ".kitforme");
    mkdirSync(own, { recursive: true });
    writeFileSync(join(own, "attempts"), "a file where attempts should be");
    const worker = workHere(at);
    const waiting = await until("two tries", async () => {
      const now = await at.status("Q-1");
      return worker.troubles.length >= 2 && now?.trouble !== undefined && now;
    });
    expect(waiting.trouble).toContain(join(own, "attempts"));
    expect(worker.troubles.every((t) => t.again)).toBe(true);
    rmSync(join(own, "attempts"));
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
  });

  it("over which three processes died is made order by order; one that goes on killing fails, and comes again", async () => {
    const at = bench();
    await at.submit(at.order("Q-1", ["Solveig"]), at.order("Q-2", ["Aino"]));
    const deadly = async (gang: string) =>
      await at.redis.sadd(`${at.keys.prefix}-kills:${gang}`, "one", "two", "three");
    // c1 is the submission, so the gang is g2: it has killed three before it comes here, and so has Q-1 by itself.
    await deadly("g2");
    await deadly("g3");
    const worker = workHere(at);
    const ended = await at.ended("Q-1", "Q-2");
    expect(ended.map((s) => s.state)).toEqual(["failed", "made"]);
    expect(reasonOf(ended[0])).toMatch(/3 processes died.*memory.*retry/);
    expect(at.jobs().length).toBe(1);
    expect(await retryOrder(at.redis, at.keys, "Q-1")).toBe("again");
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(worker.troubles.map((t) => t.again)).toEqual([true, false]);
  });

  it("that does not even get the memory to start is answered", async () => {
    const at = bench();
    await at.submit(at.order("Q-1", ["Solveig"]));
    const worker = workHere(at, { memory: 16 });
    const [failed] = await at.ended("Q-1");
    expect(failed?.state).toBe("failed");
    expect(reasonOf(failed)).toMatch(/more memory than it may have/);
    await at.submit(at.order("Q-2", ["Aino"]));
    await at.ended("Q-2");
    expect(worker.threads()).toBe(2); // one that failed gets no other job
  });
});

describe("a worker with several jobs at once", () => {
  it("makes them beside each other, each to the bytes of a run by itself", async () => {
    const at = bench();
    const names = (boat: string) => Array.from({ length: 30 }, (_, i) => `${boat} ${i}`);
    const files = [at.order("Q-1", names("Lugger")), at.order("Q-2", names("Dory"))];
    for (const file of files) await at.submit(file);
    workHere(at, { concurrency: 2 });
    await until("both to be made at the same time", async () => {
      const all = await Promise.all(["Q-1", "Q-2"].map(at.status));
      return all.every((s) => s?.state === "making");
    });
    const ended = await at.ended("Q-1", "Q-2");
    for (const [i, status] of ended.entries()) {
      const folder = status.answer?.end === "made" ? status.answer.folder : "not made";
      expect(hashes(folder)).toEqual(await at.madeAlone(files[i] as string));
    }
    expect(at.jobs().length).toBe(2);
  });

  it("loses only the one that runs out of memory, and says what to do", async () => {
    const at = bench();
    const small = at.order("Q-1", ["Solveig"]);
    const words = "Boat of the harbour ".repeat(10);
    await at.submit(
      at.order(
        "Q-BIG",
        Array.from({ length: 100_000 }, (_, i) => `${words}${i}`),
      ),
    );
    await at.submit(small);
    const worker = await workThere(at, "--concurrency", "2", "--memory", "80");
    const [big, one] = await at.ended("Q-BIG", "Q-1");
    expect(big?.state).toBe("failed");
    expect(reasonOf(big)).toMatch(/more memory than it may have.*smaller batches.*--memory/);
    expect(one?.state).toBe("made");
    expect(hashes(join(at.out, at.jobs()[0] as string))).toEqual(await at.madeAlone(small));
    await at.submit(at.order("Q-2", ["Aino"])); // the same process goes on
    expect((await at.ended("Q-2"))[0]?.state).toBe("made");
    expect(await worker.stop()).toBe(0);
    expect(worker.log()).not.toContain("trying again");
  });
});
