//! The nonlinear bed against reference values computed independently (second-order finite volumes, Richardson
//! extrapolation, good to the digits printed) with the parameter file of Cameron et al., Matter 2, 631 (2020).

use thirdpull::puck::nonlinear::*;

/// Change of the default parameters, shares of the pull's time at which values are given, concentrations, shares.
fn cases() -> Vec<(&'static str, NonlinearBed, [f64; 8], [f64; 8])> {
    let base = NonlinearBed::default();
    let a = base.grain_radius_m;
    vec![
        (
            "B1",
            base,
            [80.778, 85.684, 90.357, 92.647, 91.289, 81.634, 65.162, 51.297],
            [0.02935, 0.06361, 0.13609, 0.21129, 0.32534, 0.43240, 0.55274, 0.64784],
        ),
        (
            "B2",
            NonlinearBed { grain_radius_m: [a[0], 0.00025], fines_share: 0.2, pull_s: 45.0, ..base },
            [87.738, 91.731, 95.012, 96.356, 96.639, 92.694, 79.229, 62.043],
            [0.03277, 0.06969, 0.14654, 0.22512, 0.34415, 0.46127, 0.60333, 0.71934],
        ),
        (
            "B3",
            NonlinearBed { grain_radius_m: [a[0], 0.00042], fines_share: 0.13, pull_s: 22.0, ..base },
            [72.224, 77.824, 83.461, 85.806, 78.284, 64.084, 49.465, 39.844],
            [0.02519, 0.05611, 0.12255, 0.19227, 0.29469, 0.38227, 0.47459, 0.54736],
        ),
        (
            "B4",
            NonlinearBed { depth_m: 0.01403, pull_s: 18.0, ..base },
            [76.102, 81.201, 85.963, 83.703, 65.494, 49.561, 36.779, 28.886],
            [0.03563, 0.07883, 0.17061, 0.26440, 0.38770, 0.48115, 0.57430, 0.64552],
        ),
        (
            "B5",
            NonlinearBed { start_kg_m3: 150.0, diffusivity_m2_s: 4e-10, ..base },
            [98.609, 104.909, 111.118, 114.192, 109.712, 94.124, 73.193, 57.933],
            [0.02758, 0.06055, 0.13051, 0.20338, 0.31295, 0.41207, 0.51951, 0.60359],
        ),
        (
            "B6",
            NonlinearBed { grain_share: 0.75, dispersion: 0.02, grain_radius_m: [1.2e-5, a[1]], ..base },
            [66.812, 72.899, 78.758, 81.759, 82.003, 75.008, 60.834, 47.947],
            [0.02685, 0.05862, 0.12759, 0.20036, 0.31229, 0.41957, 0.54267, 0.64072],
        ),
    ]
}

const PARTS: [f64; 8] = [0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0];

#[test]
fn matches_the_reference_bed_to_three_digits() {
    for (name, bed, c, share) in cases() {
        let times = PARTS.map(|p| p * bed.pull_s);
        let (got, balance) = bed.solve(&times, &NonlinearGrid::default()).unwrap();
        assert!(balance.abs() < 1e-9, "{name}: mass is off by {balance}");
        for (i, g) in got.iter().enumerate() {
            println!("{name} {:.3} c {:.3} {:.3}  share {:.5} {:.5}", times[i], g.0, c[i], g.1, share[i]);
            assert!((g.0 / c[i] - 1.0).abs() < 1e-3, "{name} at {}: {} for {}", times[i], g.0, c[i]);
            assert!((g.1 - share[i]).abs() < 5e-4, "{name} at {}: {} for {}", times[i], g.1, share[i]);
        }
    }
}

#[test]
fn bad_parameters_are_named() {
    let bad = NonlinearBed { pull_s: f64::NAN, ..NonlinearBed::default() };
    let fault = bad.solve(&[1.0], &NonlinearGrid::default()).unwrap_err();
    assert!(fault.to_string().starts_with("pull_s"), "{fault}");
}
