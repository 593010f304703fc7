// A file that is missing is the input's fault and an answer; a folder that is away is an environment fault and worth another try.
import { mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { printRun } from "@kitforme/queue";
import { failureOf } from "@kitforme/run";
import { describe, expect, it, onTestFinished } from "vitest";
import { smallShop } from "../support/small-shop.ts";

const oneOrder = (more: object = {}) => {
  const at = smallShop(mkdtempSync(join(tmpdir(), "kitforme-share-")));
  onTestFinished(() => rmSync(at.root, { recursive: true, force: true }));
  const file = at.order("S-1", ["Solveig"], more);
  const make = () =>
    printRun({ ...at, orders: [{ name: "S-1", file, text: readFileSync(file, "utf8") }], effort: "quick" });
  const rulesOf = async () =>
    (await make()).refused.flatMap((r) => r.findings.filter((f) => f.level === "error").map((f) => f.rule));
  const kindOf = () =>
    make().then(
      () => "no failure",
      (error: unknown) => failureOf(error),
    );
  return { ...at, rulesOf, kindOf };
};

describe("a missing file is a finding", () => {
  it.each([
    ["a drawing", "kits/tag/tag.svg", "file-missing"],
    ["a kit's own file", "kits/tag/kit.json", "kit-unknown"],
  ])("%s", async (_, name, rule) => {
    const at = oneOrder();
    mkdirSync(join(at.kits, "other")); // the share is there, with other things on it
    rmSync(join(at.root, name));
    expect(await at.rulesOf()).toContain(rule);
  });

  it("a link that leads in a circle", async () => {
    const at = oneOrder();
    rmSync(join(at.kits, "tag/tag.svg"));
    symlinkSync("tag.svg", join(at.kits, "tag/tag.svg"));
    expect(await at.rulesOf()).toContain("file-missing");
  });
});

describe("a share that is away is an environment fault", () => {
  it("the kits' folder is gone", async () => {
    const at = oneOrder();
    renameSync(at.kits, `${at.kits}.away`);
    expect(await at.kindOf()).toMatchObject({ kind: "environment", message: expect.stringContaining(at.kits) });
  });

  it("the kits' folder is an empty mount point", async () => {
    const at = oneOrder();
    rmSync(join(at.kits, "tag"), { recursive: true });
    expect(await at.kindOf()).toMatchObject({ kind: "environment", message: expect.stringContaining("mounted") });
  });

  it("the shop's whole folder is gone", async () => {
    const at = oneOrder();
    renameSync(at.root, `${at.root}.away`);
    onTestFinished(() => rmSync(`${at.root}.away`, { recursive: true }));
    // The order was read before: it came over the queue.
    expect(failureOf(await printRun({ ...at, orders: [], effort: "quick" }).catch((e: unknown) => e))).toMatchObject({
      kind: "environment",
    });
  });

  // What the system says of shares, disks and mounts; written by hand, since no test can pull a cable.
  it.each(["EIO", "ENOSPC", "EDQUOT", "EBUSY", "ETIMEDOUT", "ESTALE", "EROFS", "ENOTCONN"])("%s", (code) => {
    const inner = Object.assign(new Error(`${code}: says the system`), { code });
    expect(failureOf(inner).kind).toBe("environment");
    expect(failureOf(new Error("while writing", { cause: inner })).kind).toBe("environment");
  });

  it("and nothing else is", () => {
    expect(failureOf(new Error("two pieces overlap")).kind).toBe("ours");
    expect(failureOf(Object.assign(new Error("x"), { code: "ERR_INVALID_ARG_TYPE" })).kind).toBe("ours");
    expect(failureOf("a string").kind).toBe("ours");
    expect(failureOf(new RangeError("Array buffer allocation failed")).message).toMatch(/memory.*smaller batches/);
  });
});
