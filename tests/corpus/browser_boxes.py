#!/usr/bin/env python3
"""Measures the drawings of tests/fixtures/svg/browser.json in a browser. By hand: it needs Chromium.

The browser renders each drawing of 100 x 100 units as an image of 1000 x 1000 px. Bounding box and area come from the
painted pixels, to a tenth of a unit. DRAWINGS.json is the fixture itself, or a list of {"name", "svg"}.

Usage: browser_boxes.py DRAWINGS.json > new.json
"""
import functools
import html
import http.server
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import threading

PAGE = """<!doctype html><pre id="out"></pre><script>
(async () => {
  const out = [];
  for (const c of await (await fetch('cases.json')).json()) {
    const image = new Image();
    image.src = URL.createObjectURL(new Blob([c.svg], {type: 'image/svg+xml'}));
    try { await image.decode(); } catch (e) { out.push({...c, broken: true}); continue; }
    const canvas = new OffscreenCanvas(1000, 1000), g = canvas.getContext('2d', {willReadFrequently: true});
    g.drawImage(image, 0, 0, 1000, 1000);
    const d = g.getImageData(0, 0, 1000, 1000).data;
    let box = [1e9, 1e9, -1, -1], area = 0;
    for (let y = 0; y < 1000; y++) for (let x = 0; x < 1000; x++) {
      const a = d[4 * (1000 * y + x) + 3];
      area += a / 255;
      if (a > 127) box = [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x + 1), Math.max(box[3], y + 1)];
    }
    out.push({...c, box: box[2] < 0 ? null : box.map(v => v / 10), area: Math.round(area / 10) / 10});
  }
  document.getElementById('out').textContent = 'RESULT' + JSON.stringify(out) + 'END';
})();
</script>"""

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --virtual-time-budget=60000 --dump-dom"
)


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        cases = json.loads(pathlib.Path(sys.argv[1]).read_text())
        cases = cases["drawings"] if isinstance(cases, dict) else cases
        pathlib.Path(folder, "cases.json").write_text(json.dumps(cases))
        pathlib.Path(folder, "index.html").write_text(PAGE)
        handler = functools.partial(http.server.SimpleHTTPRequestHandler, directory=folder)
    
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        url = f"http://127.0.0.1:{server.server_port}/index.html"
        command = ["chromium", *FLAGS.split(), f"--user-data-dir={folder}/user", url]
        dom = subprocess.run(command, capture_output=True, text=True, timeout=300).stdout
        found = re.search(r"RESULT(\[.*?\])END", dom, re.S)
        if not found:
            sys.exit(f"no result: {dom[:500]}")
        drawings = json.loads(html.unescape(found.group(1)))
    said = subprocess.run(["chromium", "--version"], capture_output=True, text=True).stdout
    version = re.search(r"Chromium [\d.]+", said)
    result = {"browser": version.group(0) if version else said.strip(), "drawings": drawings}
    rows = ",\n".join("  " + json.dumps(d) for d in result["drawings"])
    print(f'{{"browser": {json.dumps(result["browser"])},\n "drawings": [\n{rows}\n]}}')


if __name__ == "__main__":
    main()
