import type { Progress } from "@kitforme/run";
import cliProgress from "cli-progress";
import type { Outlet } from "./outlet.ts";
import type { Stop } from "./stop.ts";

/** What is done in a phase, in words. */
export const PHASES: Record<Progress["phase"], string> = {
  read: "reading kits and orders",
  prepare: "preparing pieces",
  gang: "laying out sheets",
  write: "writing sheets",
};

export interface Shown {
  readonly onProgress: (progress: Progress) => void;
  readonly stop: () => void;
}

/** Progress for people on standard error: a bar on a terminal, a line per phase elsewhere; with `--json` also a line per step. */
export const showProgress = (outlet: Outlet, stop: Stop): Shown => {
  const told = new Set<Progress["phase"]>();
  const bar = outlet.terminal
    ? new cliProgress.SingleBar(
        {
          format: "{bar} {value}/{total} {words}",
          hideCursor: true,
          clearOnComplete: true,
          // Signals are the command's; the bar's own listener would keep them from ending it.
          gracefulExit: false,
          stream: process.stderr,
          barsize: 24,
        },
        cliProgress.Presets.shades_grey,
      )
    : undefined;
  let running = false;
  const ended = (): void => {
    if (running) {
      bar?.stop();
      stop.bar(false);
    }
    running = false;
  };
  return {
    onProgress(progress) {
      outlet.event("progress", progress);
      const words = `${PHASES[progress.phase]}${progress.what ? `: ${progress.what}` : ""}`;
      if (bar) {
        const total = Math.max(progress.of, progress.done, 1);
        if (running) {
          bar.setTotal(total);
          bar.update(progress.done, { words });
        } else {
          stop.bar(true);
          bar.start(total, progress.done, { words });
        }
        running = true;
      } else if (!told.has(progress.phase)) outlet.say(`${PHASES[progress.phase]} ...`);
      // Of many kits that are checked each is read and prepared: it is said once.
      told.add(progress.phase);
    },
    stop: ended,
  };
};
