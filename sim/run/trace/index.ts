export * from './block.gen.js';
export * from './columns.js';
export { BOX_HEADINGS, HEADING_LINE, HEADINGS, type Heading, SOURCE_BOX, type TraceHead } from './csv-format.js';
export { CsvParser, readCsv } from './csv-reader.js';
export { type ByteOutput, CsvWriter, f32Text, openCsvWriter, openOutput } from './csv-writer.js';
export { TraceHash } from './hash.js';
