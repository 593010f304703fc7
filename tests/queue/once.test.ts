// What is put on the queue is made once, or answered with findings.
import { cpSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { page } from "../hostile/pdf.ts";
import { hashes, kitforme } from "../support/command.ts";
import { bench, until, workDoomed, workHere } from "../support/queue.ts";

const rulesOf = (status: { answer?: { end: string; findings?: readonly { level: string; rule: string }[] } }) =>
  (status.answer?.findings ?? []).filter((f) => f.level === "error").map((f) => f.rule);

describe("an order on the queue", () => {
  it("is ganged with those of its submission into one job, to the bytes of a run without a queue", async () => {
    const at = bench();
    const files = [at.order("Q-1", ["Solveig", "Aino"]), at.order("Q-2", ["Чайка"])];
    await at.submit(...files);
    expect((await at.status("Q-1"))?.state).toBe("received");
    workHere(at);
    const [one, two] = await at.ended("Q-1", "Q-2");
    expect([one?.state, two?.state]).toEqual(["made", "made"]);
    expect(at.jobs().length).toBe(1);
    expect(one?.answer).toMatchObject({ job: at.jobs()[0], folder: join(at.out, at.jobs()[0] as string) });
    expect(hashes(join(at.out, at.jobs()[0] as string))).toEqual(await at.madeAlone(...files));
  });

  it("is made once, and refused when it comes with other content", async () => {
    const at = bench();
    const file = at.order("Q-1", ["Solveig"]);
    // Five shops' clerks press the button at the same moment: one of them puts the order there.
    const all = await Promise.all([1, 2, 3, 4, 5].map(() => at.submit(file)));
    expect(all.flatMap((s) => s.orders).filter((o) => o.fresh).length).toBe(1);
    workHere(at);
    await at.ended("Q-1");
    expect((await at.submit(file)).orders).toMatchObject([{ order: "Q-1", fresh: false }]);

    const changed = at.order("Q-1", ["Aino"]);
    const other = at.order("Q-2", ["Frøya"]);
    expect((await at.submit(changed, other)).findings).toMatchObject([
      { rule: "order-changed", where: { file: changed } },
    ]);
    expect(await at.status("Q-2")).toBeUndefined(); // all of a submission or nothing
    const both = [other, at.order("Q-2", ["Frida K"])];
    expect((await at.submit(...both)).findings).toMatchObject([{ rule: "order-changed", where: { order: "Q-2" } }]);

    // With one that is made already, the new one is made by itself.
    expect((await at.submit(file, other)).orders.map((o) => o.fresh)).toEqual([false, true]);
    await at.ended("Q-2");
    const alone = await at.madeAlone(other);
    expect(at.jobs().map((job) => hashes(join(at.out, job)))).toContainEqual(alone);
    expect(at.jobs().length).toBe(2);
  });

  it("is made in the thread of the one before, which remembers nothing that shows in the files", async () => {
    const at = bench();
    const made = async (order: string) => {
      const status = (await at.ended(order))[0];
      return hashes(status?.answer?.end === "made" ? status.answer.folder : "not made");
    };
    const worker = workHere(at);
    const first = at.order("Q-1", ["Solveig"]);
    await at.submit(first);
    expect(await made("Q-1")).toEqual(await at.madeAlone(first));
    const second = at.order("Q-2", ["Solveig"]);
    await at.submit(second);
    expect(await made("Q-2")).toEqual(await at.madeAlone(second));
    // The same contour in another colour: the maps stay, the picture may not.
    const drawing = join(at.kits, "tag/tag.svg");
    writeFileSync(drawing, readFileSync(drawing, "utf8").replace("#2f7f8a", "#8a2f2f"));
    const third = at.order("Q-3", ["Solveig"]);
    await at.submit(third);
    // Held against a process of its own, which can remember nothing.
    const out = join(at.root, "command");
    const ended = await kitforme([
      "make",
      "--shop",
      at.shop,
      "--kits",
      at.kits,
      "--effort",
      "quick",
      "--out",
      out,
      third,
    ]);
    expect(ended.code).toBe(0);
    expect(await made("Q-3")).toEqual(hashes(out));
    expect(worker.threads()).toBe(1);
  });

  it("is answered with its findings when it is at fault, tried once, and does not hold up the others", async () => {
    const at = bench();
    const good = at.order("Q-1", ["Solveig"]);
    await at.submit(good, at.order("Q-2", ["x"], { kit: "boat" }));
    const worker = workHere(at);
    const [one, two] = await at.ended("Q-1", "Q-2");
    expect([one?.state, two?.state]).toEqual(["made", "refused"]);
    expect(rulesOf(two ?? {})).toEqual(["kit-unknown"]);
    expect(hashes(join(at.out, at.jobs()[0] as string))).toEqual(await at.madeAlone(good));

    await at.submit(at.order("Q-3", ["y"], { kit: "ship" }));
    expect((await at.ended("Q-3"))[0]?.state).toBe("refused");
    expect(worker.troubles.filter((t) => t.again)).toEqual([]);
    await at.submit(at.order("Q-2", ["Sæbjørg"])); // mended, under its own name
    expect((await at.ended("Q-2"))[0]?.state).toBe("made");
  });

  it("whose kit mixes a spot ink of another's name differently is made by itself, and not refused for what lay beside it", async () => {
    const at = bench();
    for (const [kit, cyan] of [
      ["blue", 1],
      ["azure", 0.4],
    ] as const) {
      const folder = join(at.kits, kit);
      cpSync(join(at.kits, "tag"), folder, { recursive: true });
      const tint = `<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [0 0 0 0] /C1 [${cyan} 0.4 0 0.2] >>`;
      const space = `/ColorSpace << /S [/Separation /Harbour /DeviceCMYK 5 0 R] >>`;
      writeFileSync(join(folder, "a.pdf"), page("/S cs 1 scn -9 -9 200 200 re f", space, [tint]));
      const piece = { piece: "p", drawing: "tag.svg", stock: "card", lines: { cutting: "#cut" } };
      const artwork = { file: "a.pdf", box: [0, 0, 60, 40] };
      writeFileSync(join(folder, "kit.json"), JSON.stringify({ kit, pieces: [{ ...piece, artwork }] }));
    }
    const plain = (name: string, kit: string) => at.order(name, [], { kit, quantity: 1, texts: undefined });
    await at.submit(plain("Q-1", "azure"), plain("Q-2", "blue"), at.order("Q-3", ["Aino"]));
    const worker = workHere(at);
    const ended = await at.ended("Q-1", "Q-2", "Q-3");
    expect(ended.map((s) => s.state)).toEqual(["made", "made", "made"]);
    const [one, two, three] = ended.map(({ answer }) => (answer?.end === "made" ? answer.job : undefined));
    expect(three).toBe(one);
    expect(two).not.toBe(one);
    expect(ended[1]?.why).toContain("a spot ink of its kit");
    expect(worker.troubles).toEqual([]);
  });

  it("comes again unchanged when the kit has been mended", async () => {
    const at = bench();
    const drawing = join(at.kits, "tag/tag.svg");
    renameSync(drawing, `${drawing}.away`);
    const file = at.order("Q-1", ["Solveig"]);
    await at.submit(file);
    workHere(at);
    const [refused] = await at.ended("Q-1");
    expect(refused?.state).toBe("refused");
    expect(rulesOf(refused ?? {}).length).toBeGreaterThan(0);
    expect(at.jobs()).toEqual([]);
    renameSync(`${drawing}.away`, drawing);
    const again = await at.submit(file);
    expect(again.orders).toMatchObject([{ fresh: true }]);
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
  });

  it("is made although the queue of jobs lost its gang", async () => {
    const at = bench();
    await at.submit(
      at.order(
        "Q-1",
        Array.from({ length: 60 }, (_, i) => `Boat ${i}`),
      ),
    );
    const first = await workDoomed(at);
    await at.midst("Q-1");
    await first.stop("SIGKILL");
    const own = await at.redis.keys(`${at.keys.prefix}:*`);
    await at.redis.del(...own); // ganged, but BullMQ knows nothing of it
    workHere(at);
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(at.jobs().length).toBe(1);
  });

  it("is waits while the out folder cannot be written", async () => {
    const at = bench();
    await at.submit(at.order("Q-1", ["Solveig"]));
    const worker = workHere(at);
    rmSync(at.out, { recursive: true, force: true });
    writeFileSync(at.out, "a file where the folder of jobs should be");
    await until("the work to pause", () => worker.trouble()?.includes(at.out));
    expect(worker.ready()).toBe(false);
    expect((await at.status("Q-1"))?.state).toBe("received");
    rmSync(at.out);
    mkdirSync(at.out);
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(worker.trouble()).toBeUndefined();
  });
});
