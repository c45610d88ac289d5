//! Reading a picture: which sets of bars can still be told apart.
//!
//! The reader knows where the sets lie, as anyone does who looks at a target, and nothing of lens, motion or film. For
//! each set it averages along the bars (their middle four widths) and weighs bar, space, bar, space, bar with
//! (1, −4, 6, −4, 1)/8: the contrast of the middle bar against its neighbours, blind to any slow shading of the picture.
//! A size counts as read when that contrast is at least [`SCATTERS_TO_READ`] times what grain would make of it in one
//! set without bars, the grain being measured in the picture's empty margin, and when every larger size is read.
//! Several copies in one picture are averaged first, so that the verdict depends less on one set's luck; the threshold
//! stays that of a single set.
//!
//! Two scatters are this program's choice of what an eye makes out; film's own resolution is put into the same terms
//! (see [`super::film`]), so that the choice moves film's transfer and hardly the result.

use super::Picture;
use super::target::{BarSet, Layout, Target, overlap};

/// How far bars must stand out from the grain to be read, in scatters.
pub const SCATTERS_TO_READ: f64 = 2.0;
/// Length of the bars that is averaged over, in widths.
pub const READ_LENGTH_WIDTHS: f64 = 4.0;
/// Weights of bar, space, bar, space, bar.
const WEIGHTS: [f64; 5] = [0.125, -0.5, 0.75, -0.5, 0.125];
/// Scatter of the weighed contrast over that of one bar's mean: the root of the weights' squares.
pub const CONTRAST_SCATTER: f64 = 1.045_825_033_167_594_3; // sqrt(70)/8

/// What was read in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Place of the smallest size read along and across; `None` where not even the largest was.
    pub finest: [Option<usize>; 2],
    /// Contrast of each size over its threshold, along and across.
    pub over_threshold: Vec<[f64; 2]>,
}

impl Reading {
    /// Smallest line pair read, m on the ground.
    pub fn line_pair_m(&self, target: &Target, axis: usize) -> Option<f64> {
        target.line_pairs_m.get(self.finest[axis]?).copied()
    }

    /// Sizes by which a reading is finer than a computed ground resolved distance lets expect; negative is coarser.
    pub fn steps_off(&self, target: &Target, axis: usize, grd_m: f64) -> i32 {
        let place = |size: Option<usize>| size.map_or(-1, |size| size as i32);
        place(self.finest[axis]) - place(target.finest_at(grd_m))
    }
}

/// Reads every size.
pub fn read(picture: &Picture, layout: &Layout, sizes: usize) -> Reading {
    let grain = margin_scatter(picture, layout);
    let mut sums = vec![[0.0; 2]; sizes];
    let mut counts = vec![[0_u32; 2]; sizes];
    for set in &layout.sets {
        let Some((sum, count)) = sums.get_mut(set.size).zip(counts.get_mut(set.size)) else { continue };
        let threshold = SCATTERS_TO_READ * CONTRAST_SCATTER * grain / (set.bar_px * read_length_px(set)).sqrt();
        sum[set.axis] += contrast(picture, set) / threshold;
        count[set.axis] += 1;
    }
    let over_threshold: Vec<[f64; 2]> =
        sums.iter().zip(&counts).map(|(sum, count)| [0, 1].map(|axis| sum[axis] / f64::from(count[axis]))).collect();
    let finest = [0, 1].map(|axis| {
        let read = over_threshold.iter().take_while(|over| over[axis] >= 1.0).count();
        read.checked_sub(1)
    });
    Reading { finest, over_threshold }
}

/// Scatter of single pixels in the empty margin, grey levels.
fn margin_scatter(picture: &Picture, layout: &Layout) -> f64 {
    let margin = picture.grey.chunks_exact(picture.width).flat_map(|row| row.iter().take(layout.margin_px));
    let (count, sum, squares) = margin.fold((0.0, 0.0, 0.0), |(count, sum, squares), &grey| {
        let grey = f64::from(grey);
        (count + 1.0, sum + grey, squares + grey * grey)
    });
    (squares / count - (sum / count) * (sum / count)).max(0.0).sqrt()
}

fn read_length_px(set: &BarSet) -> f64 {
    set.length_px * READ_LENGTH_WIDTHS / super::target::LENGTH_WIDTHS
}

/// Contrast of the middle bar against its neighbours, grey levels.
fn contrast(picture: &Picture, set: &BarSet) -> f64 {
    let trim = 0.5 * (set.length_px - read_length_px(set));
    let mean = |strip: usize| {
        let from = strip as f64 * set.bar_px;
        let (across_bars, along_bars) = ((from, from + set.bar_px), (trim, set.length_px - trim));
        let (columns, rows) = if set.axis == 0 { (along_bars, across_bars) } else { (across_bars, along_bars) };
        mean_of(picture, shift(columns, set.left_px), shift(rows, set.top_px))
    };
    WEIGHTS.iter().enumerate().map(|(strip, weight)| weight * mean(strip)).sum()
}

fn shift((from, to): (f64, f64), by: f64) -> (f64, f64) {
    (from + by, to + by)
}

/// Mean brightness of a rectangle; pixels that it cuts count by their share.
fn mean_of(picture: &Picture, columns: (f64, f64), rows: (f64, f64)) -> f64 {
    let span = |(from, to): (f64, f64), most: usize| from.max(0.0) as usize..(to.ceil() as usize).min(most);
    let (mut sum, mut area) = (0.0, 0.0);
    for row in span(rows, picture.height) {
        let high = overlap(row, rows);
        for column in span(columns, picture.width) {
            let part = high * overlap(column, columns);
            sum += part * f64::from(picture.grey[row * picture.width + column]);
            area += part;
        }
    }
    sum / area
}
