// The process of a crew in these tests: tasks that misbehave in every way.
import { setTimeout } from "node:timers/promises";
import { type Parent, type Ref, serveTasks } from "@kitforme/threads";

export type Task =
  | { readonly do: "pid" }
  | { readonly do: "echo"; readonly value: unknown }
  | { readonly do: "ask" }
  | { readonly do: "spool"; readonly ref: Ref }
  | { readonly do: "spin" }
  | { readonly do: "eat" }
  | { readonly do: "heap" }
  | { readonly do: "keep"; readonly mebibytes: number }
  | { readonly do: "throw"; readonly code?: string }
  | { readonly do: "signal"; readonly signal: NodeJS.Signals }
  | { readonly do: "swell"; readonly mebibytes: number }
  | { readonly do: "poison" }
  | { readonly do: "sip" };

let poisoned = false;
const held: unknown[] = [];

const work = async (task: Task, parent: Parent): Promise<unknown> => {
  switch (task.do) {
    case "pid":
      return process.pid;
    case "echo":
      return task.value;
    case "ask":
      return parent.ask({ please: 1 });
    case "spool":
      return parent.put(parent.get(task.ref).map((byte) => byte + 1));
    case "spin":
      for (;;) if (Math.sqrt(2) < 1) return 0;
    case "eat":
      for (;;) held.push(new Uint8Array(2 ** 24).fill(1));
    case "heap":
      for (;;) held.push(Array.from({ length: 1e6 }, (_, i) => ({ i })));
    case "keep":
      held.push(new Uint8Array(task.mebibytes * 2 ** 20).fill(1));
      return process.pid;
    case "throw":
      throw Object.assign(new RangeError("no more"), task.code === undefined ? {} : { code: task.code });
    case "signal":
      process.kill(process.pid, task.signal);
      return new Promise(() => undefined);
    case "swell":
      // Ended from outside while it holds so much, as a machine does that runs out of memory.
      held.push(new Uint8Array(task.mebibytes * 2 ** 20).fill(1));
      await setTimeout(1_000);
      process.kill(process.pid, "SIGKILL");
      return new Promise(() => undefined);
    case "poison":
      poisoned = true;
      return 0;
    case "sip":
      if (poisoned) process.kill(process.pid, "SIGSEGV");
      return "fine";
  }
};

serveTasks((task, parent) => work(task as Task, parent));
