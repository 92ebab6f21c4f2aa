export * from './error.js';
export * from './random.js';
export * from './sine.js';
export * from './units.js';
