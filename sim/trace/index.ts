export * from "./columns.js";
