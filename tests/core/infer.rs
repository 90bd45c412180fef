//! Numerics of inference against check files made with general-purpose libraries (each file in tests/data names its
//! source and its tolerance) and against NIST's certified problems.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use thirdpull::maths::gp::{
    Kernel, Process, expected_improvement, knowledge_gradient, log_expected_improvement, mean_of_larger,
    ordinal_update,
};
use thirdpull::maths::least_squares::fit;
use thirdpull::maths::normal;
use thirdpull::maths::real::{Dual, Real};
use thirdpull::maths::shape::{Pchip, isotonic};

/// The cases of a check file; a file without any checks nothing.
fn cases(name: &str) -> Vec<Value> {
    let path = format!("{}/tests/data/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let file: Value = serde_json::from_str(&text).unwrap();
    let cases = file["cases"].as_array().unwrap().clone();
    assert!(cases.len() > 3, "{name} has {} cases", cases.len());
    cases
}

fn f(v: &Value) -> f64 {
    v.as_f64().unwrap_or_else(|| panic!("{v} is no number"))
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(f).collect()
}

fn all_close(what: &str, got: &[f64], want: &[f64], tolerance: f64) {
    assert_eq!(got.len(), want.len(), "{what}");
    got.iter().zip(want).for_each(|(got, want)| close(what, *got, *want, tolerance));
}

fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance * (1.0 + want.abs()), "{what}: {got} but {want}");
}

fn kernel(name: &str) -> Kernel {
    match name {
        "se" => Kernel::SquaredExponential,
        "matern32" => Kernel::Matern32,
        "matern52" => Kernel::Matern52,
        other => panic!("unknown kernel {other}"),
    }
}

/// special-functions.json: mpmath at 50 digits.
#[test]
fn normal_functions_agree_to_the_last_digits() {
    let mut seen = 0;
    for c in cases("special-functions") {
        let Some(args) = c["args"].as_array() else { continue };
        let x = args.first().and_then(Value::as_f64).unwrap_or(0.0);
        let got = match c["f"].as_str().unwrap() {
            "norm_cdf" => normal::cdf(x),
            "norm_logcdf" => normal::log_cdf(x),
            "norm_quantile" => normal::quantile(x),
            "bivariate_normal_cdf" => normal::bivariate_cdf(x, f(&args[1]), f(&args[2])),
            "erfc" => libm::erfc(x),
            "lgamma" => libm::lgamma(x),
            _ => continue,
        };
        let want = f(&c["value"]);
        // Φ(−20) keeps 3e-14 at best: its argument is rounded before the exponential.
        let ok = (got - want).abs() <= 1e-12 * want.abs().max(1e-300) || (got - want).abs() < 1e-15;
        let deep = want.abs() < 1e-290;
        assert!(ok || deep && (got - want).abs() <= 1e-6 * want.abs(), "{}: {got:e} but {want:e}", c["id"]);
        seen += 1;
    }
    assert!(seen > 25, "{seen}");
}

/// gp-regression.json: 40-digit arithmetic; scikit-learn, GPy and gpytorch agree.
#[test]
fn gaussian_process_regression() {
    for c in cases("gp-regression") {
        let rows = |v: &Value| -> Vec<Vec<f64>> { v.as_array().unwrap().iter().map(list).collect() };
        let (x, y) = (rows(&c["X"]), list(&c["y"]));
        let noise = match &c["noise_variance"] {
            Value::Array(_) => list(&c["noise_variance"]),
            one => vec![f(one); y.len()],
        };
        let p = Process::new(
            kernel(c["kernel"].as_str().unwrap()),
            f(&c["signal_variance"]),
            &list(&c["lengthscales"]),
            &x,
            &y,
            &noise,
        )
        .unwrap();
        let id = c["id"].as_str().unwrap();
        // Noise of 1e-8 leaves eight digits to any solver in doubles.
        let tolerance = if noise.iter().all(|n| *n > 1e-6) { 1e-9 } else { 1e-6 };
        close(id, p.log_evidence, f(&c["log_marginal_likelihood"]), tolerance);
        let (mean, covariance) = p.predict(&rows(&c["X_star"]));
        all_close(id, &mean, &list(&c["mean"]), tolerance);
        all_close(id, &covariance, &rows(&c["covariance"]).concat(), tolerance);
    }
}

/// ordinal-probit.json, single sites: mpmath, checked by quadrature.
#[test]
fn one_ordered_answer_on_one_normal() {
    let mut seen = 0;
    for c in cases("ordinal-probit").iter().filter(|c| c["kind"] == "single site") {
        let cuts = list(&c["cutpoints"]);
        let k = c["category"].as_u64().unwrap() as usize;
        let low = if k == 0 { f64::NEG_INFINITY } else { cuts[k - 1] };
        let high = cuts.get(k).copied().unwrap_or(f64::INFINITY);
        let (log, mean, variance) =
            ordinal_update(f(&c["prior_mean"]), f(&c["prior_variance"]), f(&c["noise_sd"]), low, high);
        let id = c["id"].as_str().unwrap();
        close(id, log, f(&c["log_evidence"]), 1e-10);
        close(id, mean, f(&c["posterior_mean"]), 1e-10);
        close(id, variance, f(&c["posterior_variance"]), 1e-9);
        seen += 1;
    }
    assert_eq!(seen, 8);
}

/// acquisition.json: mpmath and botorch; Frazier, Powell and Dayanik 2009; Clark 1961.
#[test]
fn expected_gains() {
    let (mut improvements, mut gradients, mut larger) = (0, 0, 0);
    for c in cases("acquisition") {
        let id = c["id"].as_str().unwrap();
        match c["kind"].as_str().unwrap() {
            "expected improvement" => {
                let (m, s, b) = (f(&c["mean"]), f(&c["sd"]), f(&c["best"]) + f(&c["xi"]));
                improvements += 1;
                let log = f(&c["log_ei"]);
                assert!((log_expected_improvement(m, s, b) - log).abs() <= 1e-9 * log.abs().max(1.0), "{id}");
                let ei = f(&c["ei"]);
                if ei > 1e-300 {
                    assert!((expected_improvement(m, s, b) - ei).abs() <= 1e-9 * ei, "{id}");
                }
            }
            "knowledge gradient on a finite set" => {
                gradients += 1;
                close(id, knowledge_gradient(&list(&c["a"]), &list(&c["b"])), f(&c["kg"]), 1e-10);
            }
            "max of two normals" => {
                larger += 1;
                let means = (f(&c["mean1"]), f(&c["mean2"]));
                let got = mean_of_larger(means.0, f(&c["sd1"]), means.1, f(&c["sd2"]), f(&c["rho"]));
                close(id, got, f(&c["mean_of_max"]), 1e-10);
            }
            // Of what no code here works out.
            "knowledge gradient from a GP"
            | "chance of being best, or within d of the best, independent normals" => {}
            other => panic!("{id}: {other} is not checked"),
        }
    }
    assert_eq!((improvements, gradients, larger), (8, 6, 3));
}

/// isotonic.json: exact rational arithmetic; scipy and scikit-learn agree.
#[test]
fn isotonic_regression_both_ways() {
    for c in cases("isotonic") {
        let (y, w) = (list(&c["y"]), list(&c["weights"]));
        all_close("increasing", &isotonic(&y, &w), &list(&c["increasing"]), 1e-12);
        let turned: Vec<f64> = y.iter().map(|v| -v).collect();
        let falling: Vec<f64> = isotonic(&turned, &w).iter().map(|v| -v).collect();
        all_close("decreasing", &falling, &list(&c["decreasing"]), 1e-12);
    }
}

/// pchip.json: scipy.interpolate.
#[test]
fn monotone_cubic() {
    for c in cases("pchip") {
        let p = Pchip::new(&list(&c["x"]), &list(&c["y"])).unwrap();
        all_close("slope", p.slopes(), &list(&c["slopes"]), 1e-12);
        let values: Vec<f64> = list(&c["at"]).iter().map(|at| p.value(*at)).collect();
        all_close("value", &values, &list(&c["value"]), 1e-12);
    }
}

type D<const P: usize> = Dual<P>;

fn certified<const P: usize>(id: &str, model: impl Fn(&[D<P>; P], f64) -> D<P>) {
    let all = cases("nist-strd-nonlinear");
    let c = all.iter().find(|c| c["id"] == id).unwrap();
    let start: [f64; P] = list(&c["start2"]).try_into().unwrap();
    let found = fit(model, &list(&c["x"]), &list(&c["y"]), start).unwrap();
    for (what, got, want) in
        [("parameter", found.parameters, &c["certified"]), ("sd", found.sd, &c["certified_sd"])]
    {
        for (g, w) in got.iter().zip(list(want)) {
            let digits = -((g - w).abs() / w.abs()).max(1e-11).log10();
            assert!(digits >= 6.0, "{id} {what}: {g} but {w}, {digits:.1} digits");
        }
    }
}

/// NIST/ITL Statistical Reference Datasets, nonlinear regression, certified values; from start 2, six digits.
#[test]
fn nist_certified_regressions() {
    certified::<2>("Misra1a", |b, x| b[0] * (-(-b[1] * x).exp() + 1.0));
    certified::<2>("DanWood", |b, x| b[0] * (b[1] * x.ln()).exp());
    certified::<3>("Chwirut2", |b, x| (-b[0] * x).exp() / (b[1] + b[2] * x));
    certified::<2>("BoxBOD", |b, x| b[0] * (-(-b[1] * x).exp() + 1.0));
    certified::<4>("Rat43", |b, x| b[0] * (-((b[1] - b[2] * x).exp() + 1.0).ln() / b[3]).exp());
    certified::<7>("Thurber", |b, x| {
        (b[0] + b[1] * x + b[2] * (x * x) + b[3] * (x * x * x))
            / (b[4] * x + b[5] * (x * x) + b[6] * (x * x * x) + 1.0)
    });
    certified::<7>("Hahn1", |b, x| {
        (b[0] + b[1] * x + b[2] * (x * x) + b[3] * (x * x * x))
            / (b[4] * x + b[5] * (x * x) + b[6] * (x * x * x) + 1.0)
    });
    certified::<4>("MGH09", |b, x| b[0] * (b[1] * x + x * x) / (b[2] * x + b[3] + x * x));
    certified::<3>("MGH10", |b, x| b[0] * (b[1] / (b[2] + x)).exp());
    certified::<5>("MGH17", |b, x| b[0] + b[1] * (-b[3] * x).exp() + b[2] * (-b[4] * x).exp());
}
