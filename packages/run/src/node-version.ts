// The first module that is loaded: what an older Node lacks would else be a riddle (a missing export of one of its modules).
const [major = 0, minor = 0] = process.versions.node.split(".").map(Number);
if (major < 20 || (major === 20 && minor < 19))
  throw new Error(`@kitforme/run needs Node.js 20.19 or newer; this is ${process.versions.node}.`);
