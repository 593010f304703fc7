// Proofs are drawn in a thread of the built package: through node itself, since the thread takes no TypeScript.
import { execFileSync } from "node:child_process";
import { expect, it } from "vitest";

// `--input-type` is the caller's flag; a thread that inherited it would not start.
const inNode = (script: string): string =>
  execFileSync(process.execPath, ["--input-type=module", "-e", script], { encoding: "utf8", timeout: 60_000 });

it("draws the same bytes in the thread as here, and says why it cannot", () => {
  const answer = inNode(`
    import { drawProof, drawingThreads } from "@kitforme/files";
    const lines = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 80"><path d="M9 9L50 70" stroke="red"/></svg>';
    const board = { printed: null, width: 60, height: 80, strip: 20, over: { key: "lines", from: lines },
      legend: '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20"><path d="M0 9H60" stroke="blue"/></svg>' };
    const threads = drawingThreads();
    const [here, there, again] = await Promise.all([drawProof(board), threads.draw(board), threads.draw(board)]);
    const fault = await threads.draw({ ...board, printed: { kind: "page", page: { print: new Uint8Array(9), page: 0 } } }).then(() => "none", (e) => e.message);
    const after = await threads.draw(board);
    await threads.close();
    console.log(JSON.stringify({
      bytes: here.length,
      same: [there, again, after].every((png) => Buffer.compare(png, here) === 0),
      fault,
    }));
  `);
  const { bytes, same, fault } = JSON.parse(answer) as { bytes: number; same: boolean; fault: string };
  expect(bytes).toBeGreaterThan(100);
  expect(same).toBe(true);
  expect(fault).toMatch(/^a print PDF could not be drawn: /);
});
