// The controller, whatever it is: the host links it. The compiler takes the names of this file and this function.

/** Reads the input block and writes the output block. */
export declare function tick(): void;
