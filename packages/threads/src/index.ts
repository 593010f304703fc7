export { type Bounds, type Cause, Exhausted, TaskFailed } from "./bounds.ts";
export { Crew, type Task } from "./crew.ts";
export { type Entry, entryAt, entryOf } from "./entry.ts";
export { optimiseLate } from "./optimise-late.ts";
export { type Parent, serveTasks } from "./serve-tasks.ts";
export { type Ref, Spool } from "./spool.ts";
export { startThread, type ThreadOptions } from "./start-thread.ts";
