export { main } from "./cli.ts";
export { EXIT } from "./exit.ts";
