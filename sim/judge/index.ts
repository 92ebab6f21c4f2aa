export * from './book.js';
export * from './compare.js';
export * from './context.js';
export * from './figures.js';
export type { LawResult } from './law.js';
export { Stretches } from './stretches.js';
