// Builds the page into dist/: index.html, one script, one style sheet, fonts. With --tests it bundles test/*.test.ts
// instead, so that `node --test` runs them on Node 18, which does not read TypeScript.
import { build, context } from "esbuild";
import { cp, mkdir, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { dirname, join, basename } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const at = (...parts) => join(here, ...parts);

const common = {
  bundle: true,
  format: "esm",
  target: "es2021",
  jsx: "automatic",
  jsxImportSource: "preact",
  logLevel: "warning",
};

async function bundleTests() {
  const out = at("node_modules", ".cache", "page-tests");
  await rm(out, { recursive: true, force: true });
  const names = (await readdir(at("test"))).filter((name) => name.endsWith(".test.ts"));
  await build({
    ...common,
    entryPoints: names.map((name) => at("test", name)),
    outdir: out,
    outExtension: { ".js": ".mjs" },
    platform: "node",
  });
}

// Licences of what is bundled, in one file beside it.
async function writeLicences() {
  const packages = ["preact", "@preact/signals", "@preact/signals-core", "uplot"].concat(
    "@fontsource-variable/newsreader",
    "@fontsource/barlow-semi-condensed",
  );
  const texts = [];
  for (const name of packages) {
    const folder = at("node_modules", name);
    const file = (await readdir(folder)).find((entry) => /^licen[cs]e/i.test(entry));
    if (!file) throw new Error(`${name} has no licence file`);
    texts.push(`${name}\n${"-".repeat(name.length)}\n${await readFile(join(folder, file), "utf8")}`);
  }
  await writeFile(at("dist", "licences.txt"), texts.join("\n\n"));
}

// index.html names the built files; the station serves dist/ as /page/.
async function writeIndex(metafile) {
  const outputs = Object.keys(metafile.outputs).map((path) => basename(path));
  const find = (pattern) => {
    const name = outputs.find((output) => pattern.test(output));
    if (!name) throw new Error(`the build made no ${pattern}`);
    return `/page/${name}`;
  };
  const template = await readFile(at("index.html"), "utf8");
  const html = template
    .replace("{{style}}", find(/^page-.*\.css$/))
    .replace("{{script}}", find(/^page-.*\.js$/));
  await writeFile(at("dist", "index.html"), html);
  await cp(at("icon.svg"), at("dist", "icon.svg"));
}

const afterBuild = {
  name: "index",
  setup(bundler) {
    bundler.onEnd(async (result) => {
      if (result.errors.length > 0) return;
      await writeIndex(result.metafile);
      await writeLicences();
    });
  },
};

async function bundlePage(watch) {
  await rm(at("dist"), { recursive: true, force: true });
  await mkdir(at("dist"), { recursive: true });
  const options = {
    ...common,
    entryPoints: { page: at("src", "main.tsx") },
    outdir: at("dist"),
    entryNames: "[name]-[hash]",
    assetNames: "[name]-[hash]",
    loader: { ".woff2": "file" },
    minify: !watch,
    metafile: true,
    plugins: [afterBuild],
  };
  if (!watch) return void (await build(options));
  await (await context(options)).watch();
}

if (process.argv.includes("--tests")) await bundleTests();
else await bundlePage(process.argv.includes("--watch"));
