//! The quantiles intervals are made of: normal, Student's t and F, by the incomplete beta function.
//!
//! Here: own series, so that a figure is the same wherever it is worked out, to far more places than anybody reads.
//! Not here: tail areas as tests of significance; this crate offers intervals instead.
//!
//! **Invariant:** within their stated range all agree with SciPy to 1e-9 of their size (`reference/`).

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

/// The 97.5 % point of the normal distribution: a 95 % interval is this many standard errors either way.
pub const Z_95: f64 = 1.959_963_984_540_054;

/// ½ ln 2π.
const HALF_LN_TWO_PI: f64 = 0.918_938_533_204_672_8;

/// From here on Stirling's series is exact to the last bit or two.
const STIRLING_FROM: f64 = 16.0;

/// Stirling's series after the leading terms: B₂ₖ / (2k(2k − 1)) for k = 1 to 7.
const STIRLING: [f64; 7] =
    [1.0 / 12.0, -1.0 / 360.0, 1.0 / 1260.0, -1.0 / 1680.0, 1.0 / 1188.0, -691.0 / 360_360.0, 1.0 / 156.0];

/// ln Γ(x) for x > 0, by Stirling's series; a small x is first raised by Γ(x + 1) = x Γ(x).
///
/// Not a number for x ≤ 0, where nothing here asks for it.
///
/// ```
/// let ln_24 = statistics::special::ln_gamma(5.0);
/// assert!((ln_24 - 24.0_f64.ln()).abs() < 1e-14);
/// ```
pub fn ln_gamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut raised, mut product) = (x, 1.0);
    while raised < STIRLING_FROM {
        product *= raised;
        raised += 1.0;
    }
    (raised - 0.5) * raised.ln() - raised + HALF_LN_TWO_PI + stirling_rest(raised) - product.ln()
}

/// What is left of ln Γ(x) after (x − ½) ln x − x + ½ ln 2π.
fn stirling_rest(x: f64) -> f64 {
    let square = 1.0 / (x * x);
    STIRLING.iter().rev().fold(0.0, |sum, term| sum * square + term) / x
}

/// ln B(a, b). For two large arguments the leading terms are put together first: each is in the hundred thousands and
/// their difference would have lost five places.
fn ln_beta(a: f64, b: f64) -> f64 {
    let (small, large) = if a < b { (a, b) } else { (b, a) };
    if large < STIRLING_FROM {
        return ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b);
    }
    let both = small + large;
    let rests = stirling_rest(large) - stirling_rest(both);
    if small < STIRLING_FROM {
        // Γ(large) / Γ(both), with ln(large / both) taken near 1.
        let ratio = (large - 0.5) * (-small / both).ln_1p() - small * both.ln() + small;
        return ln_gamma(small) + ratio + rests;
    }
    let share = -0.5 * large.ln() + HALF_LN_TWO_PI + (small - 0.5) * (small / both).ln();
    share + large * (-small / both).ln_1p() + stirling_rest(small) + rests
}

/// The regularised incomplete beta function Iₓ(a, b) for a, b > 0 and x within 0 to 1.
///
/// By the continued fraction (Abramowitz and Stegun 26.5.8, from memory), evaluated by Lentz's method on the side of
/// the mean where it converges. Not a number outside of its range.
///
/// ```
/// use statistics::special::incomplete_beta;
///
/// assert!((incomplete_beta(1.0, 1.0, 0.3) - 0.3).abs() < 1e-15);
/// assert!((incomplete_beta(2.0, 3.0, 0.4) - 0.5248).abs() < 1e-14); // 1 − 0.6⁴ − 4 · 0.4 · 0.6³
/// ```
pub fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    incomplete_beta_both(a, b, x, 1.0 - x).0
}

/// Iₓ(a, b) and its complement; `y` is 1 − x, given apart so that an x near 1 loses nothing.
fn incomplete_beta_both(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if a.is_nan() || b.is_nan() || a <= 0.0 || b <= 0.0 || !(0.0..=1.0).contains(&x) {
        return (f64::NAN, f64::NAN);
    }
    if x == 0.0 {
        return (0.0, 1.0);
    }
    if y == 0.0 {
        return (1.0, 0.0);
    }
    let front = (a * ln_of(x, y) + b * ln_of(y, x) - ln_beta(a, b)).exp();
    if x < (a + 1.0) / (a + b + 2.0) {
        let lower = front * beta_fraction(a, b, x) / a;
        (lower, 1.0 - lower)
    } else {
        let upper = front * beta_fraction(b, a, y) / b;
        (1.0 - upper, upper)
    }
}

/// ln x where x + y = 1, from whichever of the two is the more exact.
fn ln_of(x: f64, y: f64) -> f64 {
    if y < 0.5 { (-y).ln_1p() } else { x.ln() }
}

/// Lentz's evaluation of the continued fraction; its length grows with the root of the larger argument.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const LEAST: f64 = 1e-300;
    const MOST_TERMS: u32 = 200_000;
    let away_from_zero = |value: f64| if value.abs() < LEAST { LEAST } else { value };
    let mut upper = 1.0;
    let mut lower = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = lower;
    for term in 1..=MOST_TERMS {
        let m = f64::from(term);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        lower = 1.0 / away_from_zero(1.0 + even * lower);
        upper = away_from_zero(1.0 + even / upper);
        fraction *= lower * upper;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        lower = 1.0 / away_from_zero(1.0 + odd * lower);
        upper = away_from_zero(1.0 + odd / upper);
        let step = lower * upper;
        fraction *= step;
        if (step - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    fraction
}

/// The pair (x, 1 − x) with Iₓ(a, b) = `p` and complement `q`, the smaller of the two to full precision.
///
/// Newton's steps inside a bracket that is halved when a step leaves it.
fn inverse_beta(a: f64, b: f64, p: f64, q: f64) -> (f64, f64) {
    if incomplete_beta(a, b, 0.5) < p {
        let (y, x) = inverse_beta_lower(b, a, q);
        return (x, y);
    }
    inverse_beta_lower(a, b, p)
}

/// As [`inverse_beta`], where the answer is known to be at most ½.
fn inverse_beta_lower(a: f64, b: f64, p: f64) -> (f64, f64) {
    const MOST_STEPS: u32 = 400;
    let (mut low, mut high) = (0.0, 0.5);
    let ln_b = ln_beta(a, b);
    let mean = a / (a + b);
    let mut x: f64 = if mean < 0.5 { mean } else { 0.25 };
    for _ in 0..MOST_STEPS {
        let miss = incomplete_beta(a, b, x) - p;
        if miss > 0.0 {
            high = x
        } else {
            low = x
        }
        let density = ((a - 1.0) * x.ln() + (b - 1.0) * (-x).ln_1p() - ln_b).exp();
        let step = x - miss / density;
        // A quarter of the way rather than half: a small quantile is found in its own size.
        let next = if step > low && step < high { step } else { low + (high - low) * 0.25 };
        if (next - x).abs() <= 2.0 * f64::EPSILON * x {
            x = next;
            break;
        }
        x = next;
    }
    (x, 1.0 - x)
}

/// The value of F with `numerator` and `denominator` degrees of freedom that a share `p` lies below.
///
/// Degrees of freedom need not be whole, as Satterthwaite's are not; both at least ½ and `p` strictly within 0 to 1,
/// otherwise not a number.
///
/// ```
/// let f = statistics::special::f_quantile(0.95, 2.0, 4.0);
/// assert!((f - 6.944_271_909_999_16).abs() < 1e-12); // 2 (1 / √0.05 − 1), exact for two and four
/// ```
pub fn f_quantile(p: f64, numerator: f64, denominator: f64) -> f64 {
    let in_range = p > 0.0 && p < 1.0 && numerator >= 0.5 && denominator >= 0.5;
    if !in_range || !numerator.is_finite() || !denominator.is_finite() {
        return f64::NAN;
    }
    let (x, y) = inverse_beta(numerator / 2.0, denominator / 2.0, p, 1.0 - p);
    denominator * x / (numerator * y)
}

/// How many standard errors a 95 % interval reaches either way with this many degrees of freedom: Student's t at 97.5 %.
///
/// ```
/// assert!((statistics::special::t_95(10.0) - 2.228_138_851_986_274).abs() < 1e-12);
/// ```
pub fn t_95(degrees: f64) -> f64 {
    f_quantile(0.95, 1.0, degrees).sqrt()
}
