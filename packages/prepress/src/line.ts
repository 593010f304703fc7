// A door for rooms that set a line of our own words, or ask for a profile's name, and open no picture.
export { outputProfile } from "./colour/profile.ts";
export { BLACK } from "./prepared.ts";
export * from "./text/encoded.ts";
export * from "./text/set-line.ts";
