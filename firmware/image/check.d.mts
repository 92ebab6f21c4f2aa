/** What of a folder, a module and a version does not agree, and what to do; empty when all does. */
export function imageProblems(folder: string, module_file: string, version: string): string[];
