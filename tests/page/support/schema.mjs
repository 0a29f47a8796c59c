// What a JSON value breaks of the API's own description (src/web/openapi.json), as far as that uses JSON Schema.
import { readFileSync } from "node:fs";

const { components } = JSON.parse(readFileSync(new URL("../../../src/web/openapi.json", import.meta.url), "utf8"));

const kindOf = (value) => (value === null ? "null" : Array.isArray(value) ? "array" : Number.isInteger(value) ? "integer" : typeof value);

function wrongKind(schema, value) {
  if (schema.type === undefined) return false;
  const kind = kindOf(value);
  return ![schema.type].flat().some((one) => one === kind || (one === "number" && kind === "integer"));
}

function objectFaults(schema, value, at) {
  const known = schema.properties ?? {};
  return [
    ...(schema.required ?? []).filter((name) => !(name in value)).map((name) => `${at}.${name} is missing`),
    ...Object.entries(value).flatMap(([name, one]) => {
      if (known[name]) return faultsOf(known[name], one, `${at}.${name}`);
      return schema.additionalProperties === false ? [`${at}.${name} is not described`] : [];
    }),
  ];
}

function scalarFaults(schema, value, at) {
  const faults = [];
  if (schema.enum && !schema.enum.includes(value)) faults.push(`${at} is ${JSON.stringify(value)}, none of ${schema.enum}`);
  if (typeof value === "number" && !(value >= (schema.minimum ?? -Infinity) && value <= (schema.maximum ?? Infinity))) faults.push(`${at} is ${value}, out of range`);
  if (typeof value === "string" && [...value].length > (schema.maxLength ?? Infinity)) faults.push(`${at} is too long`);
  if (typeof value === "string" && schema.format === "date-time" && !/^\d{4}-\d\d-\d\dT[\d:.]+(Z|[+-]\d\d:\d\d)$/.test(value)) faults.push(`${at} is no time: ${value}`);
  return faults;
}

// Each fault in words; `schema` as it stands in the description.
export function faultsOf(schema, value, at = "it") {
  if (schema.$ref) return faultsOf(components.schemas[schema.$ref.split("/").at(-1)], value, at);
  if (wrongKind(schema, value)) return [`${at} is ${kindOf(value)}, not ${schema.type}`];
  if (Array.isArray(value)) {
    const many = value.length > (schema.maxItems ?? Infinity) ? [`${at} has ${value.length} items`] : [];
    return [...many, ...value.flatMap((one, n) => faultsOf(schema.items ?? {}, one, `${at}[${n}]`))];
  }
  if (value !== null && typeof value === "object") return objectFaults(schema, value, at);
  return scalarFaults(schema, value, at);
}

export const faultsOfNamed = (name, value) => faultsOf({ $ref: `#/components/schemas/${name}` }, value, name);
