// TypeScript's types of the reports, from their JSON schemas.

function member(name, schema, needed, indent) {
  const note = schema.description ? `${indent}/** ${schema.description.replaceAll('*/', '* /')} */\n` : '';
  return `${note}${indent}${JSON.stringify(name)}${needed ? '' : '?'}: ${typeOf(schema, indent)};\n`;
}

/** The type that a schema describes; what a schema leaves open stays `unknown`. */
export function typeOf(schema, indent = '') {
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum) return schema.enum.map((one) => JSON.stringify(one)).join(' | ');
  if (schema.anyOf ?? schema.oneOf) return [...new Set((schema.anyOf ?? schema.oneOf).map((one) => typeOf(one, indent)))].join(' | ');
  if (Array.isArray(schema.type)) return schema.type.map((type) => typeOf({ ...schema, type }, indent)).join(' | ');
  switch (schema.type) {
    case 'null': return 'null';
    case 'string': return 'string';
    case 'boolean': return 'boolean';
    case 'integer':
    case 'number': return 'number';
    case 'array': return schema.items ? `Array<${typeOf(schema.items, indent)}>` : 'unknown[]';
    case 'object': {
      if (!schema.properties) {
        const values = schema.additionalProperties;
        return `Record<string, ${values && values !== true ? typeOf(values, indent) : 'unknown'}>`;
      }
      const needed = new Set(schema.required ?? []);
      const inside = `${indent}  `;
      return `{\n${Object.entries(schema.properties).map(([name, one]) => member(name, one, needed.has(name), inside)).join('')}${indent}}`;
    }
    default: return 'unknown';
  }
}

/** The text of reports.ts; `schemas` by the name of their type. */
export const reportTypes = (schemas) =>
  '// Made from the JSON schemas that the program prints.\n' +
  Object.entries(schemas).map(([name, schema]) => `\n/** ${schema.title} */\nexport type ${name} = ${typeOf(schema)};\n`).join('');
