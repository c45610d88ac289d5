//! What film did, sample by sample, and its statistics.

/// Film against image at one instant under an open shutter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Time, s.
    pub time_s: f64,
    /// Latitude below, degrees.
    pub latitude_deg: f64,
    /// Height, m.
    pub height_m: f64,
    /// Speed required, m/s.
    pub required_m_s: f64,
    /// Speed commanded, m/s.
    pub commanded_m_s: f64,
    /// Speed of the film at the exposure line, m/s, forward positive.
    pub achieved_m_s: f64,
    /// Speed counted at the metering roller, m/s; NaN where it was not.
    pub metered_m_s: f64,
    /// Yaw steering less the yaw required, rad; NaN where it is not known.
    pub yaw_off_rad: f64,
    /// Exposure time, s.
    pub exposure_s: f64,
}

impl Sample {
    /// Rate error of the film.
    pub fn error(&self) -> f64 {
        self.achieved_m_s / self.required_m_s - 1.0
    }

    /// Rate error of the command.
    pub fn commanded_error(&self) -> f64 {
        self.commanded_m_s / self.required_m_s - 1.0
    }

    /// Smear along and across, m.
    pub fn smear_m(&self) -> [f64; 2] {
        super::points::smear_m(self.achieved_m_s, self.required_m_s, self.yaw_off_rad, self.exposure_s)
    }
}

/// Statistics of a signed quantity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// How many.
    pub count: usize,
    /// Mean.
    pub mean: f64,
    /// Root mean square.
    pub rms: f64,
    /// Size that 99.73 % do not exceed: what three standard deviations mean for a normal distribution.
    pub three_sigma: f64,
    /// The value of greatest size.
    pub worst: f64,
}

/// Share of a normal distribution within three standard deviations.
const THREE_SIGMA: f64 = 0.9973;

/// Statistics of the finite values.
pub fn spread(values: impl Iterator<Item = f64>) -> Spread {
    let values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    let count = values.len();
    if count == 0 {
        return Spread::default();
    }
    let mean = values.iter().sum::<f64>() / count as f64;
    let rms = (values.iter().map(|value| value * value).sum::<f64>() / count as f64).sqrt();
    let worst =
        values.iter().copied().fold(0.0, |worst: f64, value| if value.abs() > worst.abs() { value } else { worst });
    let mut sizes: Vec<f64> = values.iter().map(|value| value.abs()).collect();
    let rank = ((THREE_SIGMA * count as f64).ceil() as usize).clamp(1, count) - 1;
    let (_, three_sigma, _) = sizes.select_nth_unstable_by(rank, f64::total_cmp);
    Spread { count, mean, rms, three_sigma: *three_sigma, worst }
}

/// Samples that share a stretch of latitude, height or time.
#[derive(Clone, Debug)]
pub struct Bin {
    /// Lower end.
    pub from: f64,
    /// Upper end.
    pub to: f64,
    /// Its samples.
    pub samples: Vec<Sample>,
}

/// Sorts samples into stretches of `width` by `key`; empty stretches are left out.
pub fn bins(samples: &[Sample], width: f64, key: impl Fn(&Sample) -> f64) -> Vec<Bin> {
    let mut bins: std::collections::BTreeMap<i64, Vec<Sample>> = std::collections::BTreeMap::new();
    for sample in samples {
        bins.entry((key(sample) / width).floor() as i64).or_default().push(*sample);
    }
    let bin = |(k, samples): (i64, Vec<Sample>)| Bin { from: k as f64 * width, to: (k + 1) as f64 * width, samples };
    bins.into_iter().map(bin).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_sigma_of_a_normal_distribution_is_three() {
        let noise = crate::noise::NoiseSource::new(1, 0, "spread", 0);
        let found = spread((0..200_000).map(|k| noise.gaussian(k)));
        // The quantile of 200,000 draws scatters by 0.013 (its standard error, √(p(1−p)/n)/density).
        assert!((found.three_sigma - 3.0).abs() < 0.05, "{found:?}");
        assert!((found.rms - 1.0).abs() < 0.01 && found.mean.abs() < 0.01, "{found:?}");
    }

    #[test]
    fn nothing_has_no_spread() {
        assert_eq!(spread([f64::NAN].into_iter()), Spread::default());
    }
}
