// What may lie in a kit's folder and is no file: answered at once, never opened for ever.
import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, truncateSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { kitsIn } from "@kitforme/run";
import { afterAll, expect, it } from "vitest";
import { check } from "../support/openers.ts";
import { card, named, pieceForm, SHOP } from "../support/shelf.ts";

const root = mkdtempSync(join(tmpdir(), "kitforme-unfit-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

it.skipIf(process.platform === "win32")(
  "pipes, sockets, devices, huge files and links outside are findings at their file",
  async () => {
    const kit = join(root, "kits", "odd");
    mkdirSync(kit, { recursive: true });
    writeFileSync(join(root, "secret.png"), "no business of a kit");
    writeFileSync(join(kit, "good.svg"), card(60, 40));
    const odd = ["pipe.png", "socket.png", "folder.png", "huge.png", "outside.png", "device.png", "loop.png"];
    const pieces = odd.map((file) =>
      pieceForm(file.split(".")[0] as string, { drawing: "good.svg", artwork: { file, box: [0, 0, 60, 40] } }),
    );
    writeFileSync(join(kit, "kit.json"), JSON.stringify({ kit: "odd", pieces }));
    execFileSync("mkfifo", [join(kit, "pipe.png")]);
    const server = createServer().listen(join(kit, "socket.png"));
    await new Promise((resolve) => server.once("listening", resolve));
    mkdirSync(join(kit, "folder.png"));
    writeFileSync(join(kit, "huge.png"), "");
    truncateSync(join(kit, "huge.png"), 40 * 2 ** 30);
    symlinkSync(join(root, "secret.png"), join(kit, "outside.png"));
    symlinkSync("/dev/zero", join(kit, "device.png"));
    symlinkSync("loop.png", join(kit, "loop.png"));
    const { findings } = await check(
      { shop: named("shop.json", SHOP), orders: [], folders: ["odd"] },
      kitsIn(join(root, "kits")),
    );
    server.close();
    const about = (file: string) =>
      findings.filter(({ where, places }) => [where, ...(places ?? [])].some((w) => w.file === file));
    for (const [file, why] of [
      ["pipe.png", "a named pipe"],
      ["socket.png", "no plain file"],
      ["folder.png", "a folder"],
      ["huge.png", "larger than 512 MiB"],
    ] as const) {
      expect(about(file).map(({ rule }) => rule)).toEqual(["file-unfit"]);
      expect(about(file)[0]?.message).toContain(why);
    }
    // Links that lead out, or nowhere, are as if nothing were there.
    for (const file of ["outside.png", "device.png", "loop.png"])
      expect(about(file).map(({ rule }) => rule)).toEqual(["artwork-missing"]);
  },
);
