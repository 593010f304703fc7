import { type Bounds, Exhausted, RESERVE } from "./bounds.ts";
import type { Entry } from "./entry.ts";
import { Member } from "./member.ts";
import { Spool } from "./spool.ts";

/** Deaths of processes that had not even started, in a row, after which the system is at fault. */
const MOST_STILLBORN = 3;

/** Ended by a signal, or never begun: the system has no more threads or processes for us. By itself: the fault is in the code. */
const noProcess = (how: string): Error =>
  Object.assign(
    new Error(`a process could not be started: ${how}`),
    how.startsWith("SIG") ? { code: "EAGAIN", path: "starting a process" } : {},
  );

/** One task of a crew. */
export interface Task {
  /** Plain data. */
  readonly task: unknown;
  readonly bounds: Bounds;
  /** Answers what the task asks. */
  readonly answer?: (question: unknown) => Promise<unknown>;
  readonly signal?: AbortSignal | undefined;
}

/**
 * Child processes that do tasks within bounds of processor time and memory, each one task at a time. Started when first
 * needed and kept warm; one that was over a bound, failed, or kept too much memory gets no other task. They end with this
 * process or thread, by whatever death it dies.
 *
 * A task that ends a process which had done others before is tried once more in a fresh one, so that nobody is blamed for
 * what a neighbour left behind.
 */
export class Crew {
  /** Processes started so far. */
  started = 0;
  readonly spool = new Spool();
  readonly #entry: Entry;
  readonly #heap: number;
  readonly #idle: Member[] = [];
  readonly #all = new Set<Member>();
  #closed = false;

  /** @param heap MiB of JavaScript heap of each process. */
  constructor(entry: Entry, heap: number) {
    this.#entry = entry;
    this.#heap = heap;
  }

  /**
   * Starts so many processes ahead of their tasks.
   * @param argv what each is told of them, after its entry's own arguments
   */
  warm(count: number, argv: readonly string[] = []): void {
    while (this.#idle.length < count) this.#idle.push(this.#start(argv));
  }

  /** Rejects with `Exhausted`, with what the task threw (`TaskFailed`), or with the signal's reason. */
  async do<T>({ task, bounds, answer, signal }: Task): Promise<T> {
    let stillborn = 0;
    let killed = 0;
    let used = true;
    for (;;) {
      signal?.throwIfAborted();
      if (this.#closed) throw new Error("a task for a crew that was closed");
      const member = (used ? this.#rested() : undefined) ?? this.#start();
      const fresh = member.tasks === 0;
      const kill = (): void => void member.kill();
      signal?.addEventListener("abort", kill, { once: true });
      const end = await member.do(task, bounds, (question) => this.#answer(question, answer));
      signal?.removeEventListener("abort", kill);
      signal?.throwIfAborted();
      if (member.tired) kill();
      else if (!member.gone) this.#idle.push(member);
      if ("answer" in end) return end.answer as T;
      if ("failed" in end) throw end.failed;
      if (!end.started) {
        if (++stillborn >= MOST_STILLBORN) throw noProcess(end.how);
      } else if (end.died === "time" || (fresh && (end.died !== "killed" || ++killed > 1)))
        throw new Exhausted(end.died, bounds, end.how, end.held);
      used = false;
    }
  }

  /** Ends the processes that wait. */
  async rest(): Promise<void> {
    await Promise.all(this.#idle.splice(0).map((member) => member.kill()));
  }

  /** Ends all processes and gives the spool back. */
  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    await Promise.all([...this.#all].map((member) => member.kill()));
    this.spool.close();
  }

  #rested(): Member | undefined {
    for (;;) {
      const member = this.#idle.pop();
      if (!member?.gone) return member;
    }
  }

  #start(argv: readonly string[] = []): Member {
    this.started++;
    for (const member of this.#all) if (member.gone) this.#all.delete(member);
    const member = new Member({ ...this.#entry, argv: [...this.#entry.argv, ...argv] }, this.spool, this.#heap);
    this.#all.add(member);
    return member;
  }

  #answer(question: unknown, answer: Task["answer"]): Promise<unknown> {
    if (typeof question === "object" && question !== null && RESERVE in question)
      return Promise.resolve(this.spool.reserve(Number(question[RESERVE])));
    return answer?.(question) ?? Promise.reject(new Error("nobody answers what this task asks"));
  }
}
