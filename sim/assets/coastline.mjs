// Makes coastline.geojson from the npm package `world-atlas` (land outlines of Natural Earth, 1:110 million).
//
//   npm install --no-save world-atlas@2.0.2 topojson-client@3.1.0 && node coastline.mjs
//
// Run once by hand; the result is committed. Each ring becomes one line of a MultiLineString in degrees,
// longitude first, rounded to 0.01 degree (about 1 km, a quarter of the outline's own detail). The artificial
// edges along the antimeridian and the south edge of the map are cut away: they are no coast.
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { mesh } from "topojson-client";

const require = createRequire(import.meta.url);
const topology = JSON.parse(readFileSync(require.resolve("world-atlas/land-110m.json")));
const lines = mesh(topology, topology.objects.land).coordinates;
const round = (v) => Math.round(v * 100) / 100;
const onEdge = ([lon, lat]) => Math.abs(lon) > 179.99 || lat < -89.9;

const kept = [];
for (const line of lines) {
  let piece = [];
  for (let i = 0; i < line.length; i += 1) {
    const point = line[i].map(round);
    const alongEdge = i > 0 && onEdge(line[i - 1]) && onEdge(line[i]);
    if (alongEdge && piece.length) {
      if (piece.length > 1) kept.push(piece);
      piece = [];
    }
    // A step across the antimeridian ends on this side and starts again on the other.
    const before = piece.at(-1);
    if (before && Math.abs(before[0] - point[0]) > 180) {
      piece.push([Math.sign(before[0]) * 180, point[1]]);
      kept.push(piece);
      piece = [];
    }
    piece.push(point);
  }
  if (piece.length > 1) kept.push(piece);
}

writeFileSync(
  new URL("coastline.geojson", import.meta.url),
  JSON.stringify({ type: "MultiLineString", coordinates: kept }) + "\n",
);
console.log(kept.length, "lines,", kept.flat().length, "points");
