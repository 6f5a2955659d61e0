/** The one shader of the 3-D view: calm light, a rim for what is translucent, and a line where the water cuts. */

import * as THREE from "three";
import type { Colours, Look } from "./looks";

// Light and rim are worked out at the corners: a hull has as many of those as she covers pixels, and each pixel of her
// is drawn several times over.
const VERTEX = /* glsl */ `
uniform vec3 colour;
uniform float opacity;
uniform float rim;
uniform float shadow;
varying vec4 vSeen;
varying float vHeight;
#ifdef HATCHED
varying float vAlong;
#endif
void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  vec3 n = normalize(mat3(modelMatrix) * normal);
  float facing = dot(n, normalize(cameraPosition - world.xyz));
  float light = 0.5 + 0.5 * dot(facing < 0.0 ? -n : n, normalize(vec3(0.25, -0.45, 0.86)));
  float edge = pow(max(0.0, 1.0 - abs(facing)), 2.4);
  vSeen = vec4(colour * mix(shadow, 1.06, light), min(1.0, opacity + rim * edge));
  vHeight = world.z;
#ifdef HATCHED
  vAlong = world.x + world.y + world.z;
#endif
  gl_Position = projectionMatrix * viewMatrix * world;
}`;

const FRAGMENT = /* glsl */ `
uniform vec3 waterline;
uniform vec3 water;
uniform float tint;
varying vec4 vSeen;
varying float vHeight;
#ifdef HATCHED
uniform vec3 stroke;
uniform float pitch;
varying float vAlong;
#endif
void main() {
  vec4 seen = vSeen;
#ifdef HATCHED
  seen.rgb = mix(seen.rgb, stroke, 1.0 - smoothstep(0.16, 0.24, abs(fract(vAlong / pitch) - 0.5)));
#endif
  if (vHeight < 0.0) seen.rgb = mix(seen.rgb, water, tint);
  float line = 0.9 * clamp(1.7 - abs(vHeight) / max(fwidth(vHeight), 1e-7), 0.0, 1.0);
  gl_FragColor = vec4(mix(seen.rgb, waterline, line), max(seen.a, line));
}`;

/** A palette colour as it stands: the picture is mixed as the page is, without a second colour space. */
export function plain(style: string): THREE.Color {
  return new THREE.Color().setStyle(style, THREE.LinearSRGBColorSpace);
}

/** Material of a look; `pitch` is the spacing of hatch strokes [m]. */
export function material(look: Look, pitch: number): THREE.ShaderMaterial {
  const clear = look.opacity < 1;
  return new THREE.ShaderMaterial({
    defines: look.hatched ? { HATCHED: true } : {},
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms: {
      colour: { value: new THREE.Color() },
      stroke: { value: new THREE.Color() },
      waterline: { value: new THREE.Color() },
      water: { value: new THREE.Color() },
      opacity: { value: look.opacity },
      rim: { value: look.rim },
      pitch: { value: pitch },
      tint: { value: clear ? 0.3 : 0.16 },
      shadow: { value: 0.62 },
    },
    // All go by their order, solid things too: the water's surface lies behind them and is drawn first.
    transparent: true,
    depthWrite: !clear,
    side: clear ? THREE.DoubleSide : THREE.FrontSide,
    // Both sides of a skin in one go: mixed in either order it looks the same, at half the work.
    forceSinglePass: true,
    // Edges lie on the faces; the faces step back a little so that the lines stay whole.
    polygonOffset: !clear,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
  });
}

/** Puts the theme's colours into a material. */
export function paint(of: THREE.ShaderMaterial, look: Look, colours: Colours): void {
  const set = (name: string, style: string, pale = 0) => {
    const uniform = of.uniforms[name];
    if (!uniform) throw new Error(`The shader knows no ${name}.`);
    uniform.value = plain(style).lerp(plain(colours.paper), pale);
  };
  set("colour", colours.of(look.colour), look.pale);
  set("stroke", colours.of("reed"));
  set("waterline", colours.of("pond"));
  set("water", colours.dark ? colours.shallows : colours.of("pond"));
}

const SHEET_FRAGMENT = /* glsl */ `
uniform vec3 colour;
uniform float opacity;
varying vec2 vPlace;
void main() {
  float r = length(vPlace);
  gl_FragColor = vec4(colour, opacity * (1.0 - smoothstep(0.45, 1.0, r)));
}`;

const SHEET_VERTEX = /* glsl */ `
varying vec2 vPlace;
void main() {
  vPlace = position.xy;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}`;

/** The water's surface: thin, and gone before its rim could be taken for a shore. */
export function sheetMaterial(): THREE.ShaderMaterial {
  return new THREE.ShaderMaterial({
    vertexShader: SHEET_VERTEX,
    fragmentShader: SHEET_FRAGMENT,
    uniforms: { colour: { value: new THREE.Color() }, opacity: { value: 0.75 } },
    transparent: true,
    depthWrite: false,
    side: THREE.DoubleSide,
  });
}
