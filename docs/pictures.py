"""Takes the handbook's pictures from reports of real runs.

    stillframe fly --out strip
    stillframe new frame f.toml && stillframe fly f.toml --out frame
    stillframe new sweep s.toml && stillframe fly s.toml --out sweep
    stillframe picture sweep 20
    python3 docs/pictures.py strip/report.html frame/report.html sweep/report.html sweep/frame-0020.png

Needs chromium and Pillow. Each picture is one figure of a report (found by its caption), photographed by the
browser without its caption, cut to its content and reduced to 96 colours.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

OUT = Path(__file__).parent / "src" / "pictures"
# name: (which report, beginning of the caption)
FIGURES = {
    "at-a-glance": (0, "What was on when."),
    "ground-track": (0, "Ground track"),
    "areas": (0, "The areas and the frames"),
    "frames": (0, "Ground resolved distance"),
    "attitude": (0, "Attitude error over"),
    "capture": (0, "Capture: attitude"),
    "first-pass": (0, "First pass: attitude"),
    "phase-plane": (0, "Phase plane in hold"),
    "firings": (0, "Jet firings: First pass"),
    "disturbance": (0, "Disturbance torque"),
    "film-speed": (0, "Film speed that"),
    "film-pass": (0, "First pass from"),
    "film-pass-frame": (1, "First pass from"),
    "format-frame": (1, "Smear over the format"),
    "format-sweep": (2, "Smear over the format"),
    "contact-sheet": (0, "Contact sheet"),
}


def shoot(page: str, name: str, width: int = 900) -> None:
    """Photographs a page and writes it cut to its content."""
    with tempfile.TemporaryDirectory() as folder:
        source, shot = Path(folder, "page.html"), Path(folder, "shot.png")
        source.write_text(page)
        subprocess.run(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
            + ["--force-device-scale-factor=1.5", f"--screenshot={shot}", f"--window-size={width},1600"]
            + [source.as_uri()],
            check=True,
            capture_output=True,
        )
        image = Image.open(shot).convert("RGB")
    # The background differs from white by a shade; anything beyond that is content.
    ground = Image.new("RGB", image.size, image.getpixel((0, image.height - 1)))
    box = ImageChops.difference(image, ground).point(lambda v: 255 if v > 8 else 0).getbbox()
    left, top, right, bottom = box
    image = image.crop((max(left - 15, 0), max(top - 15, 0), right + 15, bottom + 15))
    path = OUT / f"{name}.png"
    image.quantize(96, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path.name}: {image.width} x {image.height}, {path.stat().st_size // 1024} kB")


def main() -> None:
    """Every figure, and the head of the first report."""
    OUT.mkdir(exist_ok=True)
    reports = [Path(argument).read_text() for argument in sys.argv[1:4]]
    head = reports[0][: reports[0].index("<body>") + len("<body>")]
    for name, (which, caption) in FIGURES.items():
        figures = re.findall(r"<figure.*?</figure>", reports[which], re.S)
        plain = [re.sub("<[^>]+>", "", f[f.index("<figcaption>") :]).strip() for f in figures]
        (figure,) = [f for f, p in zip(figures, plain, strict=True) if p.startswith(caption)]
        if name == "contact-sheet":
            # Best, median and worst: the others look alike.
            marked = re.findall(r'<div class="marked">.*?</div>', figure, re.S)
            figure = f"<figure class='sheet'><div class='tiles'>{''.join(marked)}</div><figcaption>"
        shoot(f"{head}{figure[: figure.index('<figcaption>')]}</figure></body></html>", name)
    points = Image.open(sys.argv[4])
    points = points.resize((points.width // 2, points.height // 2), Image.Resampling.LANCZOS)
    points.quantize(16, dither=Image.Dither.NONE).save(OUT / "frame-points.png", optimize=True)
    body = reports[0][len(head) :]
    shoot(f"{head}{body[: body.index('<nav')]}</body></html>", "summary")


main()
