//! The marching scheme against exact solutions of the linear bed.
//!
//! Sources: tests/data/bed-extraction-exact.json (closed forms of Anzelius 1926 and Schumann 1929 for one population;
//! Laplace inversion for two, 25 digits), and the four two-population sphere beds below, computed the same way.

use thirdpull::puck::column::{ClassStart, Column};
use thirdpull::puck::pools::{Pool, reduce, sphere_pools};

/// A linear bed in the water's own time: pools with their capacity (per unit L/u), start value, and whether it starts
/// flooded with clean water.
pub struct Bed {
    /// (rate 1/s, capacity against the water, start relative to equilibrium with c = 1).
    pub pools: Vec<(f64, f64, f64)>,
    /// Time for the water to cross the bed, s.
    pub crossing_s: f64,
    pub flooded: bool,
}

/// Outlet concentration and its running integral at times since the front came out (or since the start if flooded).
pub fn outlet(bed: &Bed, cells: usize, times_s: &[f64]) -> Vec<(f64, f64)> {
    let start = ClassStart {
        rates_s: bed.pools.iter().map(|p| p.0).collect(),
        kappas: bed.pools.iter().map(|p| p.1).collect(),
        contents: bed.pools.iter().map(|p| p.1 * p.2).collect(),
    };
    let mut column = Column::default();
    column.fill(cells, &[start]);
    let cells = column.cells();
    let dt = bed.crossing_s / cells as f64;
    let (mut out, mut gained) = ([0.0], [0.0]);
    // Concentrations at the middles of parcels, first parcel out first.
    let mut c = Vec::new();
    if bed.flooded {
        column.flood();
        column.cross(0.5 * dt, &[1.0], &mut out, &mut gained);
        c.push(out[0]);
    } else {
        for _ in 0..cells - 1 {
            column.cross(dt, &[1.0], &mut out, &mut gained);
        }
    }
    let last = times_s.iter().copied().fold(0.0, f64::max);
    while (c.len() as f64) < last / dt + 4.0 {
        column.cross(dt, &[1.0], &mut out, &mut gained);
        c.push(out[0]);
    }
    times_s
        .iter()
        .map(|t| {
            let x = t / dt - 0.5;
            let i = (x.round().max(1.0) as usize).min(c.len() - 2);
            let (f, y) = (x - i as f64, &c[i - 1..=i + 1]);
            let value = y[1] + 0.5 * f * (y[2] - y[0]) + 0.5 * f * f * (y[2] - 2.0 * y[1] + y[0]);
            let whole = (t / dt).floor() as usize;
            let sum: f64 = c[..whole].iter().sum::<f64>() + (t / dt - whole as f64) * c[whole];
            (value, sum * dt)
        })
        .collect()
}

/// One two-population sphere bed: phi, a (m), D (m²/s), K, s0 (kg/m³), eps, q (m/s), L (m), then rows of outlet
/// concentration with a front and flooded, and shares of the solubles out.
pub struct SphereCase {
    pub phi: [f64; 2],
    pub a: [f64; 2],
    pub d: f64,
    pub k: f64,
    pub s0: f64,
    pub eps: f64,
    pub q: f64,
    pub l: f64,
    pub front: [f64; 8],
    pub front_share: [f64; 8],
    pub clean: [f64; 8],
    pub clean_share: [f64; 8],
}

pub const TIMES: [f64; 8] = [1.0, 3.0, 6.0, 10.0, 15.0, 20.0, 30.0, 45.0];

pub const SPHERES: [SphereCase; 4] = [
    SphereCase {
        phi: [0.13, 0.67],
        a: [2.5e-5, 1.7e-4],
        d: 1e-10,
        k: 1.0,
        s0: 300.0,
        eps: 0.2,
        q: 0.0006,
        l: 0.0175,
        front: [300.0, 297.5259, 256.6243, 183.3655, 130.1145, 100.4875, 67.2944, 41.4033],
        front_share: [0.042857, 0.128430, 0.248866, 0.373475, 0.483319, 0.564815, 0.682050, 0.795526],
        clean: [171.7235, 194.7914, 208.2040, 211.6197, 160.4396, 118.3119, 75.7667, 45.6490],
        clean_share: [0.020270, 0.073371, 0.160052, 0.281435, 0.415902, 0.514107, 0.648762, 0.775009],
    },
    SphereCase {
        phi: [0.2, 0.6],
        a: [2e-5, 1.4e-4],
        d: 2e-10,
        k: 1.5,
        s0: 250.0,
        eps: 0.2,
        q: 0.0005,
        l: 0.015,
        front: [166.6667, 166.6667, 166.6667, 166.5628, 158.7848, 135.7357, 88.1606, 41.7759],
        front_share: [0.027778, 0.083333, 0.166667, 0.277768, 0.414548, 0.537844, 0.722780, 0.879316],
        clean: [126.1578, 133.6094, 137.9008, 140.3822, 141.7419, 138.7870, 101.3057, 50.9004],
        clean_share: [0.019471, 0.062983, 0.131017, 0.223889, 0.341525, 0.459157, 0.661983, 0.847002],
    },
    SphereCase {
        phi: [0.1, 0.65],
        a: [3e-5, 2.2e-4],
        d: 6e-11,
        k: 0.8,
        s0: 280.0,
        eps: 0.25,
        q: 0.0009,
        l: 0.019,
        front: [308.6068, 189.7377, 110.5939, 70.5834, 51.0413, 41.0970, 30.1462, 21.5901],
        front_share: [0.076199, 0.185588, 0.283114, 0.361850, 0.428913, 0.480385, 0.559365, 0.645352],
        clean: [114.7674, 150.3710, 166.2460, 98.0788, 61.1611, 46.3180, 32.5575, 22.7998],
        clean_share: [0.019323, 0.080745, 0.189750, 0.307282, 0.393456, 0.453071, 0.539955, 0.631678],
    },
    SphereCase {
        phi: [0.13433728, 0.69286272],
        a: [4.975e-5, 3.3541e-4],
        d: 6.25e-10,
        k: 1.0,
        s0: 118.0,
        eps: 0.1728,
        q: 0.00044184,
        l: 0.0187,
        front: [118.0, 118.0, 117.8340, 111.8928, 93.3934, 75.8479, 51.3666, 29.8294],
        front_share: [0.028564, 0.085691, 0.171361, 0.283484, 0.408156, 0.510182, 0.661750, 0.805386],
        clean: [76.9717, 84.8364, 89.5882, 92.6458, 93.8693, 85.2566, 59.2848, 34.5691],
        clean_share: [0.016085, 0.055611, 0.119168, 0.207561, 0.320870, 0.430427, 0.604150, 0.770123],
    },
];

impl SphereCase {
    pub fn bed(&self, cells: usize, pools: usize, flooded: bool) -> Bed {
        let crossing_s = self.eps * self.l / self.q;
        let mut all = Vec::new();
        for (phi, a) in self.phi.iter().zip(&self.a) {
            for p in sphere_pools(*a, self.d) {
                all.push(Pool { weight: p.weight * phi, ..p });
            }
        }
        let all = reduce(all, pools, crossing_s / cells as f64);
        // In units of s0/K.
        Bed {
            pools: all.iter().map(|p| (p.rate_s, p.weight * self.k / self.eps, 1.0)).collect(),
            crossing_s,
            flooded,
        }
    }

    /// Worst error of outlet concentration (of s0/K) and of the share out.
    pub fn errors(&self, cells: usize, pools: usize) -> (f64, f64) {
        let scale = self.s0 / self.k;
        let total = self.s0 * (self.phi[0] + self.phi[1]) * self.l;
        let (mut worst_c, mut worst_share) = (0.0_f64, 0.0_f64);
        for (flooded, c, share) in
            [(false, self.front, self.front_share), (true, self.clean, self.clean_share)]
        {
            let got = outlet(&self.bed(cells, pools, flooded), cells, &TIMES);
            for ((g, c), s) in got.iter().zip(c).zip(share) {
                worst_c = worst_c.max((g.0 - c / scale).abs());
                worst_share = worst_share.max((g.1 * scale * self.q / total - s).abs());
            }
        }
        (worst_c, worst_share)
    }
}

#[test]
fn where_is_it() {
    let s = &SPHERES[1];
    for (flooded, c) in [(false, s.front), (true, s.clean)] {
        for cells in [16, 32, 64] {
            let got = outlet(&s.bed(cells, 8, flooded), cells, &TIMES);
            let e: Vec<String> =
                got.iter().zip(c).map(|(g, c)| format!("{:.4}", g.0 - c * s.k / s.s0)).collect();
            println!("where {flooded} {cells} {e:?}");
        }
    }
}

#[test]
fn survey() {
    for pools in [3, 4, 5, 6, 9] {
        for cells in [24, 28, 32, 64] {
            let e: Vec<String> = SPHERES
                .iter()
                .map(|s| {
                    let e = s.errors(cells, pools);
                    format!("{:.4}/{:.4}", e.0, e.1)
                })
                .collect();
            println!("pools {pools} cells {cells}: {}", e.join("  "));
        }
    }
}

pub fn json_beds() -> Vec<(String, Bed, Vec<[f64; 3]>)> {
    let text = include_str!("../../data/bed-extraction-exact.json");
    let all: serde_json::Value = serde_json::from_str(text).unwrap();
    let mut beds = Vec::new();
    for case in all["cases"].as_array().unwrap() {
        let f = |v: &serde_json::Value| v.as_f64().unwrap();
        let id = case["id"].as_str().unwrap().to_owned();
        let rows = case["rows"].as_array().unwrap();
        if let Some(xi) = case["xi"].as_f64() {
            let rows = rows.iter().map(|r| [f(&r[0]), f(&r[1]), f(&r[3])]).collect();
            // k = beta = 1: L/u = xi. The liquid share is free (the solution in tau does not know it).
            let eps = 0.25;
            beds.push((
                id,
                Bed { pools: vec![(1.0, 1.0 / eps, 1.0)], crossing_s: eps * xi, flooded: false },
                rows,
            ));
        } else {
            let rows = rows.iter().map(|r| [f(&r[0]), f(&r[1]), f(&r[2])]).collect();
            let pops = case["populations"].as_array().unwrap();
            let eps = pops.iter().map(|p| f(&p["beta"])).sum::<f64>() / 4.0;
            let mut pools = Vec::new();
            for p in pops {
                let beta = f(&p["beta"]);
                let initial = f(&p["initial"]);
                if p["type"] == "first-order" {
                    pools.push((f(&p["k"]) / beta, beta / eps, initial));
                } else {
                    for s in sphere_pools(1.0, 1.0 / f(&p["t_d"])) {
                        pools.push((s.rate_s, s.weight * beta / eps, initial));
                    }
                }
            }
            beds.push((id, Bed { pools, crossing_s: eps * f(&case["L_over_u"]), flooded: false }, rows));
        }
    }
    beds
}

#[test]
fn survey_json() {
    for (id, bed, rows) in json_beds() {
        let times: Vec<f64> = rows.iter().map(|r| r[0]).collect();
        let mut line = String::new();
        for cells in [16, 32, 64, 128, 256] {
            let got = outlet(&bed, cells, &times);
            let e = got.iter().zip(&rows).map(|(g, r)| (g.0 - r[1]).abs()).fold(0.0, f64::max);
            let e2 = got.iter().zip(&rows).map(|(g, r)| (g.1 - r[2]).abs()).fold(0.0, f64::max);
            line += &format!(" {cells}: {e:.2e}/{e2:.2e}");
        }
        println!("{id} {line}");
    }
}
