// The door to an entry written in TypeScript, when the sources run as they are (tests): Node's own entry of a thread or a
// process takes no TypeScript, and `--import tsx` does not reach into threads on Node 20; an import does once tsx is
// registered here. The entry's address is the first argument.
import { register } from "tsx/esm/api";

register();
await import(process.argv[2]);
