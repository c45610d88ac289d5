//! The target: sets of three bars, five widths long, a width apart, each set smaller by the sixth root of two.
//!
//! Proportions and steps are MIL-STD-150A's (from memory; the standard's target has the same). Bars are bright on dark
//! ground. Every size stands twice, once to be resolved along the track and once across.

use nalgebra::Vector2;

/// Bars in a set.
pub const BARS: usize = 3;
/// Length of a bar in its widths; with equal spaces a set is as wide as it is long.
pub const LENGTH_WIDTHS: f64 = 5.0;
/// Ratio of one size to the next.
pub const STEP: f64 = 1.122_462_048_309_373; // sixth root of two

/// Empty ground around a set, in bar widths of that set.
const GAP_WIDTHS: f64 = 2.0;
/// Empty ground around a block of sets, in bar widths of its largest.
const MARGIN_WIDTHS: f64 = 2.0;
/// Copies that differ in more than their grain.
const DRAWN: usize = 2;
/// Steps from the largest to the smallest size: a factor of four.
const STEPS: u32 = 12;

/// A target on the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Line pair (bar and space) of each size, from the largest, m.
    pub line_pairs_m: Vec<f64>,
    /// Luminance of the bars over that of the ground about them.
    pub contrast: f64,
}

impl Target {
    /// Low contrast, 1.6:1, at which lens and film resolutions are given.
    pub const LOW_CONTRAST: f64 = 1.6;

    /// Sizes from twice to half the wanted ground resolved distance, at low contrast.
    pub fn about(wanted_grd_m: f64) -> Self {
        let line_pairs_m = (0..=STEPS).map(|step| 2.0 * wanted_grd_m / STEP.powi(step as i32)).collect();
        Self { line_pairs_m, contrast: Self::LOW_CONTRAST }
    }

    /// Place of the smallest size that a ground resolved distance still resolves; `None` if the largest is too small.
    pub fn finest_at(&self, grd_m: f64) -> Option<usize> {
        self.line_pairs_m.iter().rposition(|line_pair_m| *line_pair_m >= grd_m)
    }
}

/// One set of bars on the film, in pixels from the picture's top left corner. Bars of an axis are told apart along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarSet {
    /// Place of its size in the target.
    pub size: usize,
    /// 0: resolved along the track (up the picture); 1: across.
    pub axis: usize,
    /// Left edge.
    pub left_px: f64,
    /// Top edge.
    pub top_px: f64,
    /// Width of a bar, across itself.
    pub bar_px: f64,
    /// Length of a bar.
    pub length_px: f64,
}

/// Where all sets lie in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Pixels in a row of one copy of the target.
    pub block_width: usize,
    /// The sets, copy by copy, from the largest.
    pub sets: Vec<BarSet>,
    /// Columns at the left of the picture that show empty ground.
    pub margin_px: usize,
}

/// Light on film for the first two copies of a target, side by side: 0 the ground and 1 the bars, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Light {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Share of the way from ground to bar.
    pub share: Vec<f64>,
}

impl Layout {
    /// Lays out `copies` of the target, side by side.
    pub fn new(target: &Target, ground_per_image: &Vector2<f64>, pixel_m: f64, copies: usize) -> Self {
        // Pixels for a metre of ground, along and across.
        let px = ground_per_image.map(|scale| 1.0 / (scale * pixel_m));
        let widths_m: Vec<f64> = target.line_pairs_m.iter().map(|line_pair_m| 0.5 * line_pair_m).collect();
        let largest_m = widths_m.first().copied().unwrap_or(0.0);
        let margin_m = MARGIN_WIDTHS * largest_m;
        let (set_m, total_m) = (LENGTH_WIDTHS * largest_m, widths_m.iter().sum::<f64>());
        let block_width = smooth((px.y * (2.0 * set_m + 3.0 * margin_m)).ceil() as usize);
        let height = smooth((px.x * ((LENGTH_WIDTHS + GAP_WIDTHS) * total_m + margin_m)).ceil() as usize);
        let mut sets = Vec::new();
        for copy in 0..copies {
            // Half a pixel from one copy to the next, so that no size owes its fate to where the grid falls.
            let shift = 0.5 * (copy % DRAWN) as f64;
            let left = (copy * block_width) as f64 + shift;
            let mut top = px.x * margin_m;
            for (size, &width_m) in widths_m.iter().enumerate() {
                let set = |axis: usize, left_px: f64| {
                    let (across_bars, along_bars) = if axis == 0 { (px.x, px.y) } else { (px.y, px.x) };
                    let (bar_px, length_px) = (width_m * across_bars, LENGTH_WIDTHS * width_m * along_bars);
                    BarSet { size, axis, left_px, top_px: top + shift, bar_px, length_px }
                };
                sets.push(set(0, left + px.y * margin_m));
                sets.push(set(1, left + px.y * (2.0 * margin_m + set_m)));
                top += px.x * (LENGTH_WIDTHS + GAP_WIDTHS) * width_m;
            }
        }
        let margin_px = (0.8 * px.y * margin_m) as usize;
        Self { width: copies * block_width, height, block_width, sets, margin_px }
    }

    /// Draws the bars of the first two copies: the share of each pixel that they cover. All others repeat these.
    pub fn draw(&self) -> Light {
        let width = DRAWN * self.block_width;
        let mut light = Light { width, height: self.height, share: vec![0.0; width * self.height] };
        for set in self.sets.iter().filter(|set| set.left_px < width as f64) {
            for bar in 0..BARS {
                let offset = 2.0 * bar as f64 * set.bar_px;
                let (left, top, wide, high) = if set.axis == 0 {
                    (set.left_px, set.top_px + offset, set.length_px, set.bar_px)
                } else {
                    (set.left_px + offset, set.top_px, set.bar_px, set.length_px)
                };
                light.cover((left, left + wide), (top, top + high));
            }
        }
        light
    }
}

impl Light {
    /// Adds a rectangle.
    fn cover(&mut self, across: (f64, f64), down: (f64, f64)) {
        for row in down.0.floor().max(0.0) as usize..(down.1.ceil() as usize).min(self.height) {
            let high = overlap(row, down);
            for column in across.0.floor().max(0.0) as usize..(across.1.ceil() as usize).min(self.width) {
                self.share[row * self.width + column] += high * overlap(column, across);
            }
        }
    }
}

/// Share of a pixel that lies within a stretch.
pub(super) fn overlap(pixel: usize, (from, to): (f64, f64)) -> f64 {
    let pixel = pixel as f64;
    ((pixel + 1.0).min(to) - pixel.max(from)).max(0.0)
}

/// The next number that has no prime factor above five: a length that a Fourier transform takes quickly.
fn smooth(at_least: usize) -> usize {
    let is_smooth = |mut n: usize| {
        for factor in [2, 3, 5] {
            while n.is_multiple_of(factor) {
                n /= factor;
            }
        }
        n == 1
    };
    (at_least.max(1)..).find(|&n| is_smooth(n)).unwrap_or(at_least)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_cover_what_they_should() {
        let target = Target::about(2.5);
        let layout = Layout::new(&target, &Vector2::new(240e3, 240e3), 1.24e-6, 2);
        let light = layout.draw();
        let covered: f64 = light.share.iter().sum();
        let due: f64 = layout.sets.iter().map(|set| BARS as f64 * set.bar_px * set.length_px).sum();
        assert!((covered / due - 1.0).abs() < 1e-12, "{covered} {due}");
        assert!(light.share.iter().all(|&share| (0.0..=1.0 + 1e-12).contains(&share)), "no two bars overlap");
    }

    #[test]
    fn lengths_are_made_smooth_and_never_shorter() {
        assert_eq!([1, 7, 128, 131, 433].map(smooth), [1, 8, 128, 135, 450]);
    }
}
