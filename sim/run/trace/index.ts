export * from './block.gen.js';
export * from './columns.js';
export { BOX_HEADINGS, HEADING_LINE, HEADINGS, type Heading, SOURCE_BOX, type TraceHead } from './csv-format.js';
export { CsvParser } from './csv-parser.js';
export { readCsv } from './csv-reader.js';
export { CsvWriter, openCsvWriter } from './csv-writer.js';
export { f32Text } from './f32-text.js';
export { TraceHash } from './hash.js';
export { type ByteOutput, openOutput } from './output-file.js';
