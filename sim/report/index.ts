export * from './frame.js';
export * from './history.js';
export * from './live.js';
export * from './scene.js';
export * from './still.js';
export * from './style.js';
