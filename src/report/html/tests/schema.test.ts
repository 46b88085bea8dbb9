// The JSON of every plate against its schema, by a validator that is not ours (JSON Schema 2020-12).
import { execFileSync } from "node:child_process";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import Ajv2020 from "ajv/dist/2020.js";
import { expect, test } from "vitest";

const program = process.env.PLATETALLY ?? "";
const testdata = process.env.PLATETALLY_TESTDATA ?? "";

function printed(...words: string[]): unknown {
  const text = execFileSync(program, words, { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
  return JSON.parse(text);
}

const schema = printed("tally", "--json-schema") as object;
const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true }).compile(schema);

const plates = ["plates", "demo"].flatMap((folder) =>
  readdirSync(join(testdata, folder))
    .filter((name) => name.endsWith(".gcode.gz"))
    .map((name) => join(folder, name)),
);

test.each(plates)("%s", (plate) => {
  for (const machine of ["changer-5", "switcher-4"]) {
    validate(printed("tally", join(testdata, plate), "--machine", machine, "--format", "json"));
    expect(validate.errors).toBeNull();
  }
});

test("prices and colours, too", () => {
  const words = ["tally", join(testdata, "demo/labels.gcode.gz"), "--machine", "changer-5", "--format", "json"];
  validate(printed(...words, "--colours", "0=black,1=white", "--copies", "12"));
  expect(validate.errors).toBeNull();
});

test("what is not so is refused", () => {
  const words = ["tally", join(testdata, "demo/labels.gcode.gz"), "--machine", "changer-5", "--format", "json"];
  type Json = Record<string, never> & { totals: Record<string, unknown>; layers: Record<string, unknown>[] };
  const spoilt = (change: (json: Json) => void): boolean => {
    const json = printed(...words) as Json;
    change(json);
    return validate(json);
  };
  expect(spoilt(() => undefined)).toBe(true);
  expect(spoilt((json) => delete json.totals.energy_wh)).toBe(false);
  expect(spoilt((json) => (json.totals.swaps = -1))).toBe(false);
  expect(spoilt((json) => (json.totals.purge_g = "0.98"))).toBe(false);
  expect(spoilt((json) => (json.layers[3] = {}))).toBe(false);
  expect(spoilt((json) => ((json as Record<string, unknown>).schema = "platetally.tally/0"))).toBe(false);
});
