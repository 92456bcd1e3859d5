import { z } from 'zod';
import { nearest } from '../math/nearest.js';
import { either } from '../text/in-words.js';
import type { Objection } from './step/kind.js';

type Path = readonly (string | number)[];

/** An objection; `meant` is the known field an unknown one resembles. */
type Fault = Objection & { readonly meant?: string };

/** A value from a plan in a few words: `"8"`, `-3`, `a list of 2`, `{"min":3,"max":1}`, `nothing`. */
export function inWords(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : `a list of ${value.length}`;
  if (typeof value === 'string') return JSON.stringify(value.length > 40 ? `${value.slice(0, 39)}…` : value);
  if (typeof value === 'object' && value !== null) {
    const keys = Object.keys(value);
    const whole = JSON.stringify(value);
    if (keys.length > 0 && whole.length <= 60) return whole;
    return keys.length === 0 ? 'an empty object' : `an object with ${keys.slice(0, 6).join(', ')}`;
  }
  return String(value);
}

/** A path as people write it: `grow.from[0][2]`. */
export const pathInWords = (path: Path): string =>
  path.map((p, i) => (typeof p === 'number' ? `[${p}]` : i === 0 ? p : `.${p}`)).join('');

const at = (value: unknown, path: Path): unknown =>
  path.reduce<unknown>((v, p) => (v as Record<string | number, unknown> | undefined)?.[p], value);

const typeInWords: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  string: 'a text',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a list',
  object: 'an object',
  record: 'an object',
};

function bound(problem: z.core.$ZodIssueTooSmall | z.core.$ZodIssueTooBig): string {
  const least = problem.code === 'too_small';
  const limit = least ? problem.minimum : problem.maximum;
  if (problem.origin === 'string')
    return limit === 1 ? 'a text that is not empty' : `at ${least ? 'least' : 'most'} ${limit} letters`;
  if (problem.origin === 'array' || problem.origin === 'tuple')
    return `a list of ${problem.origin === 'tuple' ? '' : least ? 'at least ' : 'at most '}${limit}`;
  const which = least ? (problem.inclusive ? 'at least' : 'more than') : problem.inclusive ? 'at most' : 'less than';
  return `a number, ${which} ${limit}`;
}

/** The fields an object schema allows at a path inside a schema; undefined where it is no object. */
function fieldsAt(schema: z.ZodType, path: Path): readonly string[] | undefined {
  let s: unknown = schema;
  const open = () => {
    while (s instanceof z.ZodOptional || s instanceof z.ZodReadonly) s = s.unwrap();
  };
  open();
  for (const p of path) {
    if (s instanceof z.ZodObject) s = s.shape[p as string];
    else if (s instanceof z.ZodArray) s = s.element;
    else if (s instanceof z.ZodTuple) s = s.def.items[p as number];
    else if (s instanceof z.ZodRecord) s = s.valueType;
    else if (s instanceof z.ZodUnion)
      s = s.options
        .map((o) => (o instanceof z.ZodObject ? o.shape[p as string] : undefined))
        .find((o) => o !== undefined);
    open();
  }
  if (s instanceof z.ZodUnion) return s.options.flatMap((o) => (o instanceof z.ZodObject ? Object.keys(o.shape) : []));
  return s instanceof z.ZodObject ? Object.keys(s.shape) : undefined;
}

/** Of the ways a union failed, the one that got farthest: the fewest complaints, those about the type of it all last. */
const closest = (branches: readonly (readonly z.core.$ZodIssue[])[]): readonly z.core.$ZodIssue[] => {
  const cost = (issues: readonly z.core.$ZodIssue[]) =>
    issues.reduce((sum, i) => sum + (i.code === 'invalid_type' && i.path.length === 0 ? 100 : 1), 0);
  return branches.reduce((best, b) => (cost(b) < cost(best) ? b : best));
};

/** One complaint of a schema in the words of the plan's writer; several where several fields are unknown. */
function explain(problem: z.core.$ZodIssue, value: unknown, schema: z.ZodType, before: Path = []): Fault[] {
  const path: Path = [...before, ...(problem.path as (string | number)[])];
  const found = inWords(at(value, path));
  const say = (expected: string): Fault[] => [{ path, expected, found }];
  switch (problem.code) {
    case 'invalid_type':
      return say(typeInWords[problem.expected] ?? problem.expected);
    case 'invalid_value': {
      const given = at(value, path);
      const meant = typeof given === 'string' ? nearest(given, problem.values.map(String)) : undefined;
      const suggestion = meant === undefined ? '' : `; did you mean "${meant}"?`;
      return [{ path, expected: either(problem.values.map((v) => JSON.stringify(v))), found: found + suggestion }];
    }
    case 'too_small':
      return say(bound(problem));
    case 'too_big': {
      const given = at(value, path);
      const letters = typeof given === 'string' ? `, ${given.length} letters` : '';
      return [{ path, expected: bound(problem), found: found + letters }];
    }
    case 'unrecognized_keys':
      return problem.keys.map((key) => {
        const fields = fieldsAt(schema, path) ?? [];
        const meant = nearest(key, fields);
        return {
          path: [...path, key],
          expected: meant === undefined ? `one of the fields ${fields.join(', ')}` : 'a known field',
          found: meant === undefined ? inWords(key) : `${inWords(key)}; did you mean "${meant}"?`,
          ...(meant !== undefined && { meant }),
        };
      });
    case 'invalid_union': {
      const branch = closest(problem.errors);
      const offTheMark = branch.every((i) => i.code === 'invalid_type' && i.path.length === 0);
      if (offTheMark && problem.errors.length > 1) {
        const wanted = problem.errors.map((b) =>
          b[0]?.code === 'invalid_type' ? typeInWords[b[0].expected] : undefined,
        );
        return say([...new Set(wanted.filter((w) => w !== undefined))].join(' or '));
      }
      return branch.flatMap((i) => explain(i, value, schema, path));
    }
    default:
      return say(problem.message);
  }
}

/** Everything a schema has against a value; empty when it holds. */
export function faults(schema: z.ZodType, value: unknown): Objection[] {
  const parsed = schema.safeParse(value);
  if (parsed.success) return [];
  const found = parsed.error.issues.flatMap((issue) => explain(issue, value, schema));
  // A misspelled field is both unknown and missing: once is enough.
  const misspelled = new Set(
    found.filter((f) => f.meant !== undefined).map((f) => pathInWords([...f.path.slice(0, -1), f.meant!])),
  );
  return found.filter((f) => f.found !== 'nothing' || !misspelled.has(pathInWords(f.path)));
}
