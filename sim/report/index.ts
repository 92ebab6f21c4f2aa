export * from './frame.js';
export * from './history.js';
export * from './scene.js';
export * from './style.js';
