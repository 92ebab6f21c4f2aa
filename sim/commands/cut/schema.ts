// A command of its own, and so a file of its own.
import { Argument, Command } from '@commander-js/extra-typings';
import { tuneJsonSchema } from '../../campaign/index.js';
import { summaryJsonSchema } from '../../run/job/index.js';
import { scenarioJsonSchema, setupJsonSchema } from '../../run/setup/index.js';

const SCHEMAS = {
  setup: setupJsonSchema,
  scenario: scenarioJsonSchema,
  summary: summaryJsonSchema,
  tune: tuneJsonSchema,
};
const NAMES = ['setup', 'scenario', 'summary', 'tune'] as const;

/** `standoff schema`: the JSON Schema of a file, so that an editor can help while it is written. */
export const schemaCommand = () =>
  new Command('schema')
    .description('Prints a JSON Schema: every key with its meaning, unit, range and default, for your editor.')
    .addArgument(new Argument('[of]', 'which one').choices(NAMES).default('setup' as const))
    .action((of) => {
      process.stdout.write(`${JSON.stringify(SCHEMAS[of](), undefined, 2)}\n`);
    });
