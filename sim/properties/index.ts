export * from './book.js';
export * from './context.js';
export * from './figures.js';
export * from './law.js';
