// The door to thread.ts when the sources run as they are (tests): Node's own entry of a thread takes no TypeScript, and
// `--import tsx` does not reach into threads on Node 20; an import within the thread does once tsx is registered there.
import { register } from "tsx/esm/api";

register();
await import("./thread.ts");
