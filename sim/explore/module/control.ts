// What is linked from the control module, or from its tracked copy; the file's name is that of the import.

export declare function tick(): void;
