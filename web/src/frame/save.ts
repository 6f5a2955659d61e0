/** Puts bytes into the browser's downloads, once they are known to be there: a refusal never becomes a file. */
export function saveAs(name: string, kind: string, content: ArrayBuffer): void {
  const url = URL.createObjectURL(new Blob([content], { type: kind }));
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  // The browser reads the bytes after the click has been dealt with.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
