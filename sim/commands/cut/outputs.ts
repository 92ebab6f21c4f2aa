import { writeScenario } from '../../run/setup/index.js';
import { type CsvWriter, openCsvWriter, openOutput } from '../../run/trace/index.js';
import type { Job } from '../base/inputs.js';
import { checkEnding, refuseInput } from '../base/output-name.js';

/** Files that a run may leave behind. */
export interface OutputOptions {
  readonly trace?: string | undefined;
  readonly store?: string | undefined;
  /** Write over files that exist; never over an input. */
  readonly force?: boolean | undefined;
}

/**
 * Stores the run and opens its trace. Names are looked at before anything is written.
 * @returns the trace, to be closed at the end of the run
 * @throws StandoffError `output-name`, `output-input`, `file-exists`, `file-unwritable`
 */
export function openOutputs(job: Job, module_sha256: string, options: OutputOptions): CsvWriter | undefined {
  const { trace, store } = options;
  const force = options.force === true;
  if (trace !== undefined) checkName(`--trace ${trace}`, trace, ['.csv', '.csv.gz'], job.files);
  if (store !== undefined) checkName(`--store ${store}`, store, ['.yaml', '.yml'], job.files);
  if (store !== undefined) {
    const output = openOutput(store, force);
    output.write(Buffer.from(writeScenario(job.scenario)));
    output.close();
  }
  return trace === undefined ? undefined : openCsvWriter(trace, traceHead(job, module_sha256), force);
}

/** Seed, module, program and every parameter of the box: what a reader needs to judge the run. */
function traceHead({ scenario }: Job, module_sha256: string): Record<string, string | number> {
  const { seed, program, setup } = scenario;
  const parameters = Object.entries(setup.box).map(([name, value]) => [`box.${name}`, value] as const);
  return { seed, module_sha256, program: program.name, ...Object.fromEntries(parameters) };
}

function checkName(named: string, path: string, endings: readonly string[], inputs: readonly string[]): void {
  checkEnding(named, path, endings);
  refuseInput(named, path, inputs, 'run');
}
