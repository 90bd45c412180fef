//! Streamtubes: the bed cut into parallel paths of unequal permeability.

use super::bed::Unevenness;
use crate::maths::gauss::gauss_legendre;

/// One path through the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// Share of the area, the sum over all paths is 1.
    pub area_share: f64,
    /// Permeability against the mean of the bed.
    pub conductance: f64,
    /// Which of the channels of [`Unevenness::channels`] it is, if any.
    pub channel: Option<usize>,
}

/// Cuts the bed into `count` paths that stand for a lognormal spread of permeability with mean 1 (Gauss–Legendre nodes in
/// the normal variable, cut at three standard deviations), plus one path for each channel. An even bed is one path.
/// Paths come in order of conductance, so the order in which unevenness was described changes nothing.
pub fn cut(unevenness: &Unevenness, count: usize) -> Vec<Path> {
    let sigma = unevenness.spread;
    let mut paths = Vec::new();
    let whole = 1.0 - unevenness.channels.iter().map(|c| c.area_share).sum::<f64>();
    if sigma > 0.0 && count > 1 {
        let reach = 3.0;
        for (x, w) in gauss_legendre(count) {
            let z = reach * x;
            paths.push(Path {
                area_share: w * (-0.5 * z * z).exp(),
                conductance: (sigma * z).exp(),
                channel: None,
            });
        }
        let area: f64 = paths.iter().map(|p| p.area_share).sum();
        let mean = paths.iter().map(|p| p.area_share * p.conductance).sum::<f64>() / area;
        for p in &mut paths {
            p.area_share *= whole / area;
            p.conductance /= mean;
        }
    } else {
        paths.push(Path { area_share: whole, conductance: 1.0, channel: None });
    }
    for (i, channel) in unevenness.channels.iter().enumerate() {
        paths.push(Path { area_share: channel.area_share, conductance: 1.0, channel: Some(i) });
    }
    order(&mut paths);
    paths
}

/// Sorts paths by conductance, then by channel, then by area.
pub(crate) fn order(paths: &mut [Path]) {
    paths.sort_by(|a, b| {
        a.conductance
            .total_cmp(&b.conductance)
            .then(a.channel.cmp(&b.channel))
            .then(a.area_share.total_cmp(&b.area_share))
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_and_mean_conductance_are_one() {
        for sigma in [0.0, 0.1, 0.5, 1.5] {
            let paths = cut(&Unevenness { spread: sigma, channels: vec![] }, 12);
            let area: f64 = paths.iter().map(|p| p.area_share).sum();
            let mean: f64 = paths.iter().map(|p| p.area_share * p.conductance).sum();
            assert!((area - 1.0).abs() < 1e-12 && (mean - 1.0).abs() < 1e-12, "{sigma}");
        }
    }
}
