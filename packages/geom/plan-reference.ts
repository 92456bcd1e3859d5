/** The tables of fields in PLANS.md, made from the JSON Schema plans are checked with. */

/** What the tables tell of a part of a JSON Schema. */
interface Part {
  readonly $ref?: string;
  readonly type?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly pattern?: string;
  readonly description?: string;
  readonly required?: readonly string[];
  readonly properties?: Readonly<Record<string, Part>>;
  readonly additionalProperties?: unknown;
  readonly items?: Part;
  readonly prefixItems?: readonly Part[];
  readonly anyOf?: readonly Part[];
}

/** Every form of every step, by the field that tells it. */
export function stepForms(
  schema: unknown,
): readonly { readonly step: string; readonly form: string; readonly part: Part }[] {
  const forms = (schema as Part).properties!.steps!.items!.anyOf!;
  return forms.map((part) => ({
    step: part.properties!.step!.const as string,
    form: part.required!.find((field) => !OF_ALL.includes(field) && field !== 'shape')!,
    part,
  }));
}

/** The Markdown with its tables made anew: those between `<!-- fields STEP FORM -->` or `<!-- fields plan -->` and `<!-- end -->`. */
export function withFieldTables(markdown: string, schema: unknown): string {
  const forms = stepForms(schema);
  return markdown.replace(
    /(<!-- fields (\S+)(?: (\S+))? -->\n)[\s\S]*?(<!-- end -->)/g,
    (_, start, step, form, end) => {
      const part =
        step === 'plan' ? (schema as Part) : forms.find((one) => one.step === step && one.form === form)?.part;
      if (part === undefined) throw new Error(`PLANS.md: no step ${step} with ${form}`);
      return `${start}\n${tableOf(part)}\n${end}`;
    },
  );
}

const OF_ALL: readonly string[] = ['step', 'id', 'note', 'optional'];
const OF_PLAN: readonly string[] = ['$schema', 'steps'];

const tableOf = (part: Part): string =>
  ['| field | is | |', '|---|---|---|', ...new Set(rowsOf(part, '', true)), ''].join('\n');

/** A row a field, those within objects by their path. What all steps have is told once for all of them. */
function rowsOf(part: Part, path: string, isTop = false): string[] {
  const parts = [part, ...(part.anyOf ?? [])];
  const own = parts.flatMap(({ properties = {}, required = [] }) =>
    Object.entries(properties)
      .filter(([name]) => !(isTop && [...OF_ALL, ...OF_PLAN].includes(name)))
      .flatMap(([name, field]) => {
        const says = [field.description ?? '', ...(required.includes(name) ? ['**Needed.**'] : [])].join(' ').trim();
        return [
          `| \`${path}${name}\` | ${kindOf(field)} | ${says.replaceAll('|', '\\|')} |`,
          ...rowsOf(field, `${path}${name}.`),
        ];
      }),
  );
  const items = parts.flatMap(({ items: each }) =>
    each === undefined ? [] : rowsOf(each, path.replace(/\.$/, '[].')),
  );
  return [...own, ...items];
}

/** What a field holds, in a word or two. */
function kindOf(part: Part): string {
  if (part.$ref !== undefined)
    return { vector: 'x, y, z', limits: 'min, max', id: 'id' }[part.$ref.split('/').at(-1)!] ?? 'object';
  if (part.const !== undefined) return `\`${JSON.stringify(part.const)}\``;
  if (part.enum !== undefined) return part.enum.map((value) => `\`${value}\``).join(', ');
  if (part.anyOf !== undefined) return [...new Set(part.anyOf.map(kindOf))].join(' or ');
  if (part.prefixItems !== undefined) return part.prefixItems.map(kindOf).join(' and ');
  if (part.type === 'array') return `list of ${kindOf(part.items!)}`;
  if (part.type === 'string') return part.pattern === undefined ? 'text' : 'id';
  if (part.type === 'integer') return 'whole number';
  if (part.type === 'boolean') return 'true or false';
  return part.type ?? 'object';
}
