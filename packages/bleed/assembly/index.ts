// What the bleed's WebAssembly module offers. Build: `npm run build:bleed`, which writes ../src/engine-binary.ts.
export { begin, more, reached } from "./nearest";
export { countCrossings, inside, minus } from "./raster";
