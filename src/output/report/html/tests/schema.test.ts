// Every JSON that the program prints against its schema, by a validator that is not ours (JSON Schema 2020-12).
import { execFileSync, spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Ajv2020 from "ajv/dist/2020.js";
import { afterAll, beforeAll, expect, test } from "vitest";

const program = process.env.PLATETALLY ?? "";
const testdata = process.env.PLATETALLY_TESTDATA ?? "";
const labels = join(testdata, "demo/labels.gcode.gz");
const lantern = join(testdata, "demo/lantern.gcode.gz");

type Json = Record<string, unknown>;

/** Whatever the exit code says of limits and bad plates. */
function printed(...words: string[]): Json {
  const ran = spawnSync(program, words, { encoding: "utf8", maxBuffer: 1 << 28 });
  if (ran.stdout === "") throw new Error(ran.stderr);
  return JSON.parse(ran.stdout) as Json;
}

/** The schema as it is permits members to come; as a test it must name every member that there is. */
function closed(schema: unknown): unknown {
  if (Array.isArray(schema)) return schema.map(closed);
  if (typeof schema !== "object" || schema === null) return schema;
  const inner = Object.fromEntries(Object.entries(schema).map(([key, value]) => [key, closed(value)]));
  return "properties" in inner ? { ...inner, additionalProperties: false } : inner;
}

function validator(report: string) {
  const schema = closed(printed("--json-schema", report)) as object;
  return new Ajv2020({ strict: true, strictTypes: false, strictTuples: false, allErrors: true }).compile(schema);
}

const reports = ["tally", "tallies", "order", "compare", "payback", "audit", "audit-line", "calibrate", "calibrate-pairs", "reconcile", "circuit", "plan"] as const;
type Report = (typeof reports)[number];
const validators = new Map(reports.map((report) => [report, validator(report)]));

function expectSound(report: Report, json: Json) {
  const validate = validators.get(report)!;
  validate(json);
  expect(validate.errors).toBeNull();
}

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "platetally-schema-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("every schema has a name of its own, and every report says what it was made from", () => {
  const ids = reports.map((report) => printed("--json-schema", report).$id as string);
  expect(new Set(ids).size).toBe(ids.length);
  for (const id of ids) expect(id).toMatch(/^urn:platetally:[a-z-]+:[0-9]+$/);
  const made = (printed("--json-schema", "tally").properties as Json).made_from;
  for (const report of reports.filter((one) => one !== "audit-line")) {
    const schema = printed("--json-schema", report) as { required: string[]; properties: Json };
    expect(schema.required, report).toContain("made_from");
    expect(schema.properties.made_from, report).toEqual(made);
  }
});

test("the golden reports are sound", () => {
  const goldens = readdirSync(join(testdata, "report")).filter((name) => name.endsWith(".json"));
  const checked = goldens.map((name) => {
    const json = JSON.parse(readFileSync(join(testdata, "report", name), "utf8")) as Json;
    const report = /^platetally\.([a-z-]+)\//.exec((json.schema as string | undefined) ?? "")?.[1] as Report | undefined;
    if (report === undefined) return "";
    expectSound(report, json);
    expect(json.made_from, name).toBeDefined();
    return report;
  });
  expect(checked.filter((report) => report !== "").length).toBeGreaterThan(0);
});

test("the schemas are those of the help", () => {
  const help = execFileSync(program, ["--help"], { encoding: "utf8" });
  expect(help).toContain("--json-schema");
  expect(printed("--json-schema", "tally")).toEqual(printed("tally", "--json-schema"));
  const refused = spawnSync(program, ["--json-schema", "nothing"], { encoding: "utf8" });
  expect(refused.status).toBe(2);
  for (const report of reports) expect(refused.stderr).toContain(report);
});

const plates = ["plates", "demo"].flatMap((part) =>
  readdirSync(join(testdata, part))
    .filter((name) => name.endsWith(".gcode.gz"))
    .map((name) => join(part, name)),
);

test.each(plates)("tally %s", (plate) => {
  for (const machine of ["changer-5", "switcher-4"])
    expectSound("tally", printed("tally", join(testdata, plate), "--machine", machine, "--json"));
});

test("prices and colours, too", () => {
  const words = ["tally", labels, "--machine", "changer-5", "--json", "--colours", "0=black,1=white"];
  expectSound("tally", printed(...words, "--prices", join(testdata, "demo/prices.toml"), "--copies", "12"));
});

test("several plates of a container", () => {
  writeFileSync(join(folder, "one.gcode"), "G28\nG1 X10 E1 F600\n");
  writeFileSync(join(folder, "two.gcode"), "G28\nG1 X20 E2 F600\n");
  execFileSync("zip", ["-q", "two.zip", "one.gcode", "two.gcode"], { cwd: folder });
  const json = printed("tally", join(folder, "two.zip"), "--machine", "changer-5", "--json");
  expectSound("tallies", json);
  expect(json.plates).toHaveLength(2);
});

test("order, with colours and without, on both kinds of machine", () => {
  expectSound("order", printed("order", labels, "--machine", "switcher-4", "--colours", "0=black,1=white", "--json"));
  expectSound("order", printed("order", lantern, "--machine", "changer-5", "--json"));
});

test("compare, with and without prices", () => {
  const words = ["compare", labels, "--machine", "changer-5", "--machine", "switcher-4", "--json"];
  expectSound("compare", printed(...words));
  expectSound("compare", printed(...words, "--prices", join(testdata, "demo/prices.toml")));
});

test("two plates, and a plate beside what it would be", () => {
  const two = printed("compare", labels, lantern, "--machine", "changer-5", "--json");
  expectSound("compare", two);
  expect(two.before_after).not.toBeNull();
  expectSound("compare", printed("compare", labels, "--machine", "switcher-4", "--repeat", "2", "--json"));
});

test("plan", () => {
  expectSound("plan", printed("plan", join(testdata, "demo/week.toml"), "--seconds", "0", "--json"));
});

test("payback", () => {
  expectSound("payback", printed("payback", join(testdata, "demo/payback.toml"), "--json"));
});

test("audit, with limits, a bad plate and a history by week", () => {
  const shop = join(folder, "shop");
  mkdirSync(shop);
  copyFileSync(labels, join(shop, "labels.gcode.gz"));
  copyFileSync(lantern, join(shop, "lantern.gcode.gz"));
  writeFileSync(join(shop, "empty.gcode"), "");
  const history = join(folder, "kept.sqlite");
  const words = ["audit", shop, "--machine", "changer-5", "--limit", "purge_g=5", "--history", history, "--json"];
  const json = printed(...words);
  expectSound("audit", json);
  expect(json).toMatchObject({ plates: 2, failed: 1, over_limit: 1 });
  const lines = spawnSync(program, ["audit", shop, "--machine", "changer-5", "--limit", "purge_g=5", "--format", "jsonl"], { encoding: "utf8" });
  const said = lines.stdout.trim().split("\n").map((line) => JSON.parse(line) as Json);
  for (const line of said) expectSound("audit-line", line);
  expect(said.map((line) => line.type)).toEqual(["begin", "plate", "plate", "plate", "end"]);
  expectSound("audit", printed("audit", "--since", "2020-01-01", "--history", history, "--json"));
});

test("calibrate", () => {
  const rows = Array.from({ length: 301 }, (_, i) => `${i};24,${i % 5}`);
  writeFileSync(join(folder, "idle.csv"), ["seconds;W", ...rows, ""].join("\n"));
  const words = ["calibrate", "switcher-4", "--log", `${join(folder, "idle.csv")}:idle`, "--json"];
  const json = printed(...words);
  expectSound("calibrate", json);
  expect(json.fitted).not.toHaveLength(0);
});

test("calibrate, by measured pairs", () => {
  writeFileSync(join(folder, "pairs.csv"), "from,to,mm3\nblack,white,520\nwhite,black,210\nred,yellow,330\n");
  expectSound("calibrate-pairs", printed("calibrate", "switcher-4", "--pairs", join(folder, "pairs.csv"), "--json"));
});

test("reconcile", () => {
  const rows = Array.from({ length: 800 }, (_, i) => `${10 * i},${i < 10 || i > 496 ? 12 : i < 19 ? 480 : 140 + (i % 9)}`);
  writeFileSync(join(folder, "print.csv"), ["seconds,W", ...rows, ""].join("\n"));
  const words = ["reconcile", lantern, "--machine", "changer-5", "--log", join(folder, "print.csv"), "--weighed", "purge_g=9"];
  expectSound("reconcile", printed(...words, "--json"));
});

test("circuit, started together and one after the other", () => {
  const words = ["machines", "--circuit", "230V,16A", "--json", "--plan"];
  expectSound("circuit", printed(...words, "2xswitcher-4"));
  expectSound("circuit", printed(...words, "6xswitcher-4,1xchanger-5"));
});

test("what is not so is refused", () => {
  const validate = validators.get("tally")!;
  type Spoilt = { totals: Json; layers: Json[]; schema: string; verdict: Json; tower: Json; findings: Json[]; made_from: Json };
  const spoilt = (change: (json: Spoilt) => void): boolean => {
    const json = printed("tally", labels, "--machine", "changer-5", "--json");
    change(json as unknown as Spoilt);
    return validate(json);
  };
  expect(spoilt(() => undefined)).toBe(true);
  expect(spoilt((json) => delete json.totals.energy_wh)).toBe(false);
  expect(spoilt((json) => (json.totals.more = 1))).toBe(false);
  expect(spoilt((json) => (json.totals.swaps = -1))).toBe(false);
  expect(spoilt((json) => (json.totals.purge_g = "0.98"))).toBe(false);
  expect(spoilt((json) => (json.layers[3] = {}))).toBe(false);
  expect(spoilt((json) => (json.schema = "platetally.tally/0"))).toBe(false);
  expect(spoilt((json) => (json.verdict.grade = "perhaps"))).toBe(false);
  expect(spoilt((json) => (json.tower.verdict = "leaning"))).toBe(false);
  expect(spoilt((json) => (json.findings[0]!.code = "no-such-code"))).toBe(false);
  expect(spoilt((json) => (json.findings[0]!.severity = "grave"))).toBe(false);
  expect(spoilt((json) => delete json.made_from.program)).toBe(false);
  expect(spoilt((json) => (json.made_from.machines = [{ name: "changer-5", hash: "4967" }]))).toBe(false);
});
