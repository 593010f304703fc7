// An S3-compatible server in a process of its own (s3rver, from npm). It knows keys by their ids and does not reckon signatures of
// version 4 again; nor does it know conditional writes: the door in front of it does, by asking whether the object is there.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { createServer, request } from "node:http";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import type { StoreAddress } from "@kitforme/queue";
import { onTestFinished } from "vitest";

const BIN = join(dirname(createRequire(import.meta.url).resolve("s3rver/package.json")), "bin/s3rver.js");
const BUCKET = "shop";

/** The server, and the address of its bucket with the keys that it knows. */
export const objectServer = async (): Promise<{ address: StoreAddress; stop: () => void; refused: () => number }> => {
  const data = mkdtempSync(join(tmpdir(), "kitforme-objects-"));
  const args = ["-d", data, "-a", "127.0.0.1", "-p", "0", "--no-vhost-buckets", "--configure-bucket", BUCKET];
  const child = spawn(process.execPath, [BIN, ...args], { stdio: ["ignore", "pipe", "pipe"] });
  const stop = (): void => void child.kill("SIGKILL");
  onTestFinished(() => {
    stop();
    rmSync(data, { recursive: true, force: true });
  });
  const port = await new Promise<number>((resolve, reject) => {
    let said = "";
    for (const stream of [child.stdout, child.stderr])
      stream.on("data", (text: Buffer) => {
        said += text.toString();
        const [, found] = /listening on [^\n]*?:(\d+)\s/.exec(said) ?? [];
        if (found !== undefined) resolve(Number(found));
      });
    child.once("exit", () => reject(new Error(`the server ended: ${said}`)));
  });
  let refused = 0;
  const ask = (method: string, path: string | undefined, headers: object) =>
    request({ host: "127.0.0.1", port, method, path, headers: { ...headers } });
  const door = createServer((from, to) => {
    const pass = (): void => {
      const on = ask(from.method ?? "GET", from.url, from.headers);
      on.once("error", () => to.destroy());
      on.once("response", (answer) => {
        to.writeHead(answer.statusCode ?? 500, answer.headers);
        answer.pipe(to);
      });
      from.pipe(on);
    };
    if (from.headers["if-none-match"] !== "*") return pass();
    void fetch(`http://127.0.0.1:${port}${from.url}`).then(async (there) => {
      await there.arrayBuffer();
      if (there.status === 404) return pass();
      refused++;
      from.resume();
      to.writeHead(412).end("<Error><Code>PreconditionFailed</Code></Error>");
    });
  });
  await new Promise<void>((resolve) => void door.listen(0, "127.0.0.1", resolve));
  onTestFinished(() => void door.close());
  const mine = door.address();
  const endpoint = `http://127.0.0.1:${typeof mine === "object" && mine ? mine.port : 0}`;
  const address = {
    bucket: BUCKET,
    prefix: "night/",
    endpoint,
    region: "us-east-1",
    keyId: "S3RVER",
    secret: "S3RVER",
  };
  return { address, stop, refused: () => refused };
};
