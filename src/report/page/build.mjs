// Makes what is embedded: page.js and pictures.js as one file each, page.css made small, and the hashes that the page's
// content-security-policy allows. node build.mjs <folder with node_modules> <folder for the results>
import {createHash} from 'node:crypto';
import {mkdirSync, readFileSync, writeFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {dirname, join, resolve} from 'node:path';
import {fileURLToPath} from 'node:url';

const [packages, results] = process.argv.slice(2).map((folder) => resolve(folder));
const sources = dirname(fileURLToPath(import.meta.url));
const esbuild = createRequire(join(packages, 'package.json'))('esbuild');
mkdirSync(results, {recursive: true});

async function bundle(entry, more) {
  await esbuild.build({
    entryPoints: [join(sources, entry)], outfile: join(results, entry), bundle: true, minify: true, legalComments: 'none',
    charset: 'ascii', nodePaths: [join(packages, 'node_modules')], define: {'process.env.NODE_ENV': '"production"'},
    logLevel: 'warning', ...more});
}

await bundle('page.js', {format: 'iife', target: 'es2020', platform: 'browser'});
await bundle('pictures.js', {format: 'cjs', target: 'node18', platform: 'node'});
await bundle('page.css', {target: 'es2020'});

// The words that end a script or style early must not stand inside one.
for (const name of ['page.js', 'page.css']) {
  const path = join(results, name);
  const text = readFileSync(path, 'utf8').replace(/<\/(script|style)/gi, '<\\/$1').replace(/<!--/g, '<\\!--').trim();
  writeFileSync(path, text);
  const hash = createHash('sha256').update(text, 'utf8').digest('base64');
  writeFileSync(path.replace(/\.(js|css)$/, '-$1.sha256'), hash);
}
