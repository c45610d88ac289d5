//! Curves against time and against each other, drawn by `kuva` as SVG.

use std::sync::Arc;

use kuva::plot::band::BandPlot;
use kuva::plot::line::LineStyle;
use kuva::plot::scatter::MarkerShape;
use kuva::plot::{LinePlot, ScatterPlot};
use kuva::render::annotations::{ReferenceLine, ShadedRegion};
use kuva::render::layout::{Layout, TickFormat};
use kuva::render::plots::Plot;
use maud::{Markup, PreEscaped, html};

use super::svg::round_step;
use crate::record::envelope::Bucket;

/// The Okabe–Ito palette (Okabe & Ito, "Color Universal Design", 2008): told apart by people with any of
/// the common kinds of colour blindness.
pub mod palette {
    /// Black.
    pub const BLACK: &str = "#000000";
    /// Orange.
    pub const ORANGE: &str = "#e69f00";
    /// Bluish green.
    pub const GREEN: &str = "#009e73";
    /// Blue.
    pub const BLUE: &str = "#0072b2";
    /// Vermillion.
    pub const VERMILLION: &str = "#d55e00";
    /// Reddish purple.
    pub const PURPLE: &str = "#cc79a7";
    /// A grey for what stands behind.
    pub const GREY: &str = "#8a8a8a";
}

/// Colours of roll, pitch and yaw, everywhere on the page.
pub const AXIS_COLOURS: [&str; 3] = [palette::BLUE, palette::VERMILLION, palette::GREEN];
/// Names of the axes.
pub const AXES: [&str; 3] = ["roll", "pitch", "yaw"];

/// How a series looks, in colour and in grey.
#[derive(Clone, Copy, Debug)]
pub enum Mark {
    /// A full line.
    Line,
    /// A broken line.
    Dashed,
    /// A dotted line.
    Dotted,
    /// Round dots.
    Dots,
    /// Hollow-looking diamonds.
    Diamonds,
    /// Crosses.
    Crosses,
    /// A filled band between pairs of points: at each x first one edge, then the other.
    Band,
}

/// One series.
#[derive(Clone, Debug)]
pub struct Series {
    /// Name in the legend; none, no line in the legend.
    pub name: Option<String>,
    /// Colour.
    pub colour: &'static str,
    /// Look.
    pub mark: Mark,
    /// Width of the line or radius of the mark, px.
    pub size: f64,
    /// Points; a point that is not finite breaks the line.
    pub points: Vec<(f64, f64)>,
}

impl Series {
    /// A series with a line in the legend.
    pub fn named(name: &str, colour: &'static str, mark: Mark, size: f64, points: Vec<(f64, f64)>) -> Self {
        Self { name: Some(name.into()), colour, mark, size, points }
    }
}

/// A chart.
#[derive(Clone, Debug, Default)]
pub struct Chart {
    /// What it shows, for those who hear the page rather than see it.
    pub alt: String,
    /// Label of the x axis with its unit; empty for none (stacked panels share the lowest one's).
    pub x_label: String,
    /// Label of the y axis with its unit.
    pub y_label: String,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// Ends of the x axis.
    pub x: (f64, f64),
    /// Ends of the y axis; what lies outside is drawn at the edge.
    pub y: (f64, f64),
    /// Series, first below.
    pub series: Vec<Series>,
    /// Stretches of x to be shaded.
    pub shaded: Vec<(f64, f64)>,
    /// Levels of y to be marked, with a label.
    pub levels: Vec<(f64, String)>,
    /// Distance of the x axis' ticks; 0 for a round one.
    pub x_step: f64,
}

impl Chart {
    /// The chart: its legend, if any series has a name, and its picture.
    pub fn draw(&self) -> Markup {
        let plots: Vec<Plot> = self.series.iter().flat_map(|s| self.plots(s)).collect();
        let svg = kuva::render_to_svg(plots, self.layout());
        let named: Vec<&Series> = self.series.iter().filter(|s| s.name.is_some() && !s.points.is_empty()).collect();
        html! {
            @if !named.is_empty() { ul class="legend" { @for s in named { li { (sample(s)) (s.name.as_deref().unwrap_or("")) } } } }
            (PreEscaped(inline(&svg, self.width, self.height, &self.alt)))
        }
    }

    fn layout(&self) -> Layout {
        let (x, y) = (padded(self.x), padded(self.y));
        let small = self.width < 300.0;
        let y_step = round_step(y.1 - y.0, if self.height < 150.0 { 3.5 } else { 5.0 });
        let x_step = if self.x_step > 0.0 { self.x_step } else { round_step(x.1 - x.0, if small { 4.0 } else { 8.0 }) };
        // Fixed margins keep stacked panels in line with each other.
        let bottom = if self.x_label.is_empty() { 18.0 } else { 38.0 };
        let mut layout = Layout::new(x, y)
            .with_width(self.width)
            .with_height(self.height)
            .with_x_axis_min(x.0)
            .with_x_axis_max(x.1)
            .with_y_axis_min(y.0)
            .with_y_axis_max(y.1)
            .with_clamp_axis()
            .with_clamp_y_axis()
            .with_x_tick_step(x_step)
            .with_y_tick_step(y_step)
            .with_x_tick_format(decimals(x_step))
            .with_y_tick_format(decimals(y_step))
            .with_force_margins(if small { 48.0 } else { 62.0 }, 8.0)
            .with_force_margins_y(6.0, bottom)
            .with_y_label(self.y_label.as_str())
            .with_label_size(11)
            .with_tick_size(10)
            .with_body_size(10)
            .with_axis_line_width(0.8)
            .with_tick_width(0.8)
            .with_tick_length(3.5)
            .with_grid_line_width(0.4)
            .with_font_family("Helvetica, Arial, sans-serif")
            .with_box_axes();
        if !self.x_label.is_empty() {
            layout = layout.with_x_label(self.x_label.as_str());
        }
        for &(start, end) in &self.shaded {
            let (start, end) = (start.clamp(x.0, x.1), end.clamp(x.0, x.1));
            // A pass is a hair's breadth on a day's axis: never thinner than a pixel, and then darker.
            let pixel = (x.1 - x.0) / self.width;
            let opacity = if end - start > 20.0 * pixel { 0.22 } else { 0.6 };
            let region = ShadedRegion::vertical(start, end.max(start + pixel).min(x.1));
            layout = layout.with_shaded_region(region.with_color(palette::ORANGE).with_opacity(opacity));
        }
        for (level, label) in &self.levels {
            let line = ReferenceLine::horizontal(*level).with_color("#333333").with_dasharray("5 3");
            let line = line.with_stroke_width(0.8);
            layout = layout.with_reference_line(if label.is_empty() { line } else { line.with_label(label) });
        }
        layout
    }

    fn plots(&self, series: &Series) -> Vec<Plot> {
        match series.mark {
            Mark::Line | Mark::Dashed | Mark::Dotted => self.lines(series),
            Mark::Dots => vec![self.marks(series, MarkerShape::Circle)],
            Mark::Diamonds => vec![self.marks(series, MarkerShape::Diamond)],
            Mark::Crosses => vec![self.marks(series, MarkerShape::Cross)],
            Mark::Band => self.bands(series),
        }
    }

    /// One plot for each unbroken piece.
    fn lines(&self, series: &Series) -> Vec<Plot> {
        let mut plots = Vec::new();
        for piece in pieces(series) {
            let line = LinePlot::new()
                .with_data(piece.iter().copied())
                .with_color(series.colour)
                .with_stroke_width(series.size)
                .with_line_style(match series.mark {
                    Mark::Dashed => LineStyle::Custom("6 3".into()),
                    Mark::Dotted => LineStyle::Custom("1.5 2.5".into()),
                    _ => LineStyle::Solid,
                });
            plots.push(line.into());
        }
        plots
    }

    /// A band with its edges drawn, so that it does not vanish where it is thin.
    fn bands(&self, series: &Series) -> Vec<Plot> {
        let mut plots = Vec::new();
        for piece in pieces(series) {
            let low: Vec<(f64, f64)> = piece.chunks_exact(2).map(|p| (p[0].0, p[0].1.min(p[1].1))).collect();
            let high: Vec<(f64, f64)> = piece.chunks_exact(2).map(|p| (p[0].0, p[0].1.max(p[1].1))).collect();
            let ys = |edge: &[(f64, f64)]| edge.iter().map(|p| p.1).collect::<Vec<f64>>();
            let band = BandPlot::new(low.iter().map(|p| p.0), ys(&low), ys(&high));
            plots.push(band.with_color(series.colour).with_opacity(0.4).into());
            for edge in [low, high] {
                let line = LinePlot::new().with_data(edge).with_color(series.colour);
                plots.push(line.with_stroke_width(series.size).into());
            }
        }
        plots
    }

    fn marks(&self, series: &Series, shape: MarkerShape) -> Plot {
        let finite = series.points.iter().filter(|(x, y)| x.is_finite() && y.is_finite());
        let plot = ScatterPlot::new()
            .with_data(finite.copied())
            .with_color(series.colour)
            .with_size(series.size)
            .with_marker(shape);
        plot.into()
    }
}

/// The unbroken pieces of a line.
fn pieces(series: &Series) -> impl Iterator<Item = &[(f64, f64)]> {
    let pieces = series.points.split(|(x, y)| !(x.is_finite() && y.is_finite()));
    pieces.filter(|piece| piece.len() > 1)
}

/// Ticks with the decimals their distance needs, and a true minus sign.
fn decimals(step: f64) -> TickFormat {
    let places = (-(step * 1.001).log10().floor()).clamp(0.0, 9.0) as usize;
    TickFormat::Custom(Arc::new(move |value| {
        // Adding zero turns a negative zero into a positive one.
        let value = (value * 1e9).round() / 1e9 + 0.0;
        format!("{value:.places$}").replace('-', "\u{2212}")
    }))
}

/// What a series looks like, for the legend.
fn sample(series: &Series) -> Markup {
    let dash = match series.mark {
        Mark::Dashed => "6 3",
        Mark::Dotted => "1.5 2.5",
        _ => "none",
    };
    let colour = series.colour;
    html! {
        svg viewBox="0 0 26 12" aria-hidden="true" {
            @match series.mark {
                Mark::Line | Mark::Dashed | Mark::Dotted => { path d="M0 6H26" stroke=(colour) stroke-width="2" stroke-dasharray=(dash) {} }
                Mark::Band => { path d="M0 1H26V11H0Z" fill=(colour) fill-opacity="0.4" stroke=(colour) {} }
                Mark::Dots => { circle cx="13" cy="6" r="3.4" fill=(colour) {} }
                Mark::Diamonds => { path d="M13 1L18 6L13 11L8 6Z" fill=(colour) {} }
                Mark::Crosses => { path d="M9 2L17 10M9 10L17 2" stroke=(colour) stroke-width="2" {} }
            }
        }
    }
}

/// A range with some width, whatever was given.
fn padded((low, high): (f64, f64)) -> (f64, f64) {
    if !(low.is_finite() && high.is_finite()) {
        return (0.0, 1.0);
    }
    if high > low { (low, high) } else { (low - 0.5 * low.abs().max(1.0), low + 0.5 * low.abs().max(1.0)) }
}

/// A curve's buckets as the two edges of a band.
pub fn edges(buckets: &[Bucket], x_scale: f64, y_scale: f64) -> Vec<(f64, f64)> {
    let pair = |b: &Bucket| [(b.time_s * x_scale, b.low * y_scale), (b.time_s * x_scale, b.high * y_scale)];
    buckets.iter().flat_map(pair).collect()
}

/// A curve's buckets as a zigzag that touches every smallest and largest value once.
pub fn zigzag(buckets: &[Bucket], x_scale: f64, y_scale: f64) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(2 * buckets.len());
    for bucket in buckets {
        let (x, low, high) = (bucket.time_s * x_scale, bucket.low * y_scale, bucket.high * y_scale);
        let last = points.last().map_or(low, |p| p.1);
        // The nearer end first keeps a smooth curve smooth.
        let (first, second) = if (last - low).abs() <= (last - high).abs() { (low, high) } else { (high, low) };
        points.push((x, first));
        if low != high {
            points.push((x, second));
        }
    }
    points
}

/// Smallest and largest finite value of `points` with x at or after `from`, widened by a tenth.
pub fn range(points: impl Iterator<Item = (f64, f64)>, from: f64) -> (f64, f64) {
    let finite = points.filter(|(x, y)| *x >= from && y.is_finite()).map(|(_, y)| y);
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    if low > high {
        return (0.0, 1.0);
    }
    let margin = (0.1 * (high - low)).max(1e-9 * high.abs().max(1e-9));
    (low - margin, high + margin)
}

/// `kuva`'s SVG made to scale with the page, named for those who cannot see it, without its comment.
fn inline(svg: &str, width: f64, height: f64, alt: &str) -> String {
    let body = svg.find('>').map_or(svg, |end| &svg[end + 1..]);
    let body = match (body.find("<!--"), body.find("-->")) {
        (Some(start), Some(end)) if start < end => [&body[..start], &body[end + 3..]].concat(),
        _ => body.to_string(),
    };
    let (width, height) = size_of(svg).unwrap_or((width, height));
    let alt = html! { (alt) }.into_string();
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{alt}\" font-family=\"Helvetica, Arial, sans-serif\">{body}"
    )
}

/// The size `kuva` gave the picture: it grows the canvas when a legend needs room.
fn size_of(svg: &str) -> Option<(f64, f64)> {
    let head = &svg[..svg.find('>')?];
    let number = |key: &str| {
        let rest = &head[head.find(key)? + key.len()..];
        rest[..rest.find('"')?].parse().ok()
    };
    Some((number("width=\"")?, number("height=\"")?))
}
