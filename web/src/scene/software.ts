/** Whether pictures are drawn by the processor alone, as on a machine without a graphics chip: then every pixel counts. */

const BY_PROCESSOR = /swiftshader|llvmpipe|softpipe|software|basic render/i;

/** By the name that a driver gives itself. */
export function drawnByProcessor(driver: string): boolean {
  return BY_PROCESSOR.test(driver);
}

/** The driver's own name; empty where the browser keeps it to itself. */
export function driverName(): string {
  const probe = document.createElement("canvas").getContext("webgl2");
  if (!probe) return "";
  const names = probe.getExtension("WEBGL_debug_renderer_info");
  const name: unknown = probe.getParameter(names ? names.UNMASKED_RENDERER_WEBGL : probe.RENDERER);
  probe.getExtension("WEBGL_lose_context")?.loseContext();
  return typeof name === "string" ? name : "";
}
