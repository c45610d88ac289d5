"""Takes the handbook's pictures from reports of real runs.

    cargo build --release && python3 docs/pictures.py           every picture
    python3 docs/pictures.py strip                              those of one run

Runs each command of RUNS in a folder of its own, then photographs figures of the report it wrote: each is found
by the beginning of its caption, shot by the browser without the caption, cut to its content and reduced to 96
colours. Needs chromium and Pillow.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

HERE = Path(__file__).parent
OUT = HERE / "src" / "pictures"
SCENARIOS = HERE.parent / "sim" / "scenarios"
STILLFRAME = HERE.parent / "target" / "release" / "stillframe"

# name: the command, which writes a report.html into a folder named by --out
RUNS = {
    "strip": ["fly"],
    "frame": ["fly", SCENARIOS / "whimbrel-frame.toml"],
    "sizing": ["size"],
    "tune": ["tune", SCENARIOS / "dunlin.toml"],
    "film": ["film"],
    "sweep": ["fly", SCENARIOS / "whimbrel-sweep.toml"],
    "descend": ["descend"],
    "plan": ["plan"],
}
# picture: (which run, beginning of the figure's caption; none for the page's head)
FIGURES = {
    "at-a-glance": ("strip", "What was on when."),
    "ground-track": ("strip", "Ground track"),
    "areas": ("strip", "The areas and the frames"),
    "frames": ("strip", "Ground resolved distance"),
    "attitude": ("strip", "Attitude error over"),
    "capture": ("strip", "Capture: attitude"),
    "first-pass": ("strip", "First pass: attitude"),
    "phase-plane": ("strip", "Phase plane in hold"),
    "firings": ("strip", "Jet firings: First pass"),
    "disturbance": ("strip", "Disturbance torque"),
    "film-speed": ("strip", "Film speed that"),
    "film-pass": ("strip", "First pass from"),
    "film-pass-frame": ("frame", "First pass from"),
    "film-rates": ("film", "Film speed required, commanded"),
    "contact-sheet": ("strip", "Contact sheet"),
    "format-frame": ("frame", "Smear over the format"),
    "format-sweep": ("sweep", "Smear over the format"),
    "summary": ("strip", None),
    "sizing-trade": ("sizing", "Ground resolved distance against mass"),
    "sizing-modulation": ("sizing", "Modulation of the target"),
    "tune-asked": ("tune", None),
    "tune-phase-plane": ("tune", "Phase plane in the programme, axis by axis: in hand"),
    "tune-loci": ("tune", "Nichols pictures."),
    "tune-front": ("tune", "Gas against rate in exposures"),
    "tune-capture": ("tune", "Capture map"),
    "plan-day": ("plan", "One line a revolution"),
    "plan-quiet": ("plan", "Each camera-on by itself"),
    "plan-swath": ("plan", "The areas and the swaths"),
    "plan-padding": ("plan", "One sigma along the track"),
    "place": ("strip", "How far the vehicle was ahead"),
    "return-flown": ("strip", "The landing place"),
    "return-map": ("descend", "The landing place"),
    "return-angle": ("descend", "Range along the track"),
    "return-loads": ("descend", "Loads of entry"),
    "return-contributors": ("descend", "What one sigma"),
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
    if name == "contact-sheet":
        # Grain does not pack: two thirds of the size, and greys.
        image = image.resize((image.width * 2 // 3, image.height * 2 // 3), Image.Resampling.LANCZOS)
    image.quantize(12 if name == "contact-sheet" else 96, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path.name}: {image.width} x {image.height}, {path.stat().st_size // 1024} kB")


def figure(report: str, caption: str | None) -> str:
    """A page holding one figure of the report, or its head if there is no caption."""
    head, body = report.split("<body>", 1)
    head += "<body>"
    if caption is None:
        return f"{head}{body[: body.index('<nav')]}</body></html>"
    figures = re.findall(r"<figure.*?</figure>", body, re.S)
    plain = [re.sub("<[^>]+>", "", f[f.index("<figcaption>") :]).strip() for f in figures]
    (found,) = [f for f, p in zip(figures, plain, strict=True) if p.startswith(caption)]
    if "class=\"tiles\"" in found:
        # Of a contact sheet: best, median and worst. The others look alike.
        marked = "".join(re.findall(r'<div class="marked">.*?</div>', found, re.S))
        found = f"<figure><div class='tiles'>{marked}</div><figcaption>"
    return f"{head}{found[: found.index('<figcaption>')]}</figure></body></html>"


def points(results: Path) -> None:
    """One frame over its format, reduced: grain does not pack."""
    drawn = results / "points.png"
    subprocess.run([STILLFRAME, "picture", results, "20", "--out", drawn], check=True, capture_output=True)
    image = Image.open(drawn)
    image = image.resize((image.width * 2 // 5, image.height * 2 // 5), Image.Resampling.LANCZOS)
    image.quantize(12, dither=Image.Dither.NONE).save(OUT / "frame-points.png", optimize=True)


def main() -> None:
    """Every run asked for, and its figures."""
    OUT.mkdir(exist_ok=True)
    for run in sys.argv[1:] or RUNS:
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder, run)
            subprocess.run([STILLFRAME, *RUNS[run], "--quiet", "--out", out], check=True)
            report = (out / "report.html").read_text()
            if run == "sweep":
                points(out)
        for name, (which, caption) in FIGURES.items():
            if which == run:
                shoot(figure(report, caption), name)


main()
