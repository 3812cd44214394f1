//! Isotonic regression: the rising step curve nearest to what came true.
//!
//! Pool adjacent violators (Ayer et al. 1955): blocks that fall are pooled until none falls.
//! As a picture of calibration: Dimitriadis, Gneiting and Jordan 2021. Must not draw.

/// Points at one forecast: place, weighted mean of what came, weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Place, a forecast chance.
    pub x: f64,
    /// Mean of what came there.
    pub y: f64,
    /// Weight.
    pub weight: f64,
}

/// A rising curve through points, straight lines between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    /// Places and heights, both rising.
    pub steps: Vec<(f64, f64)>,
}

/// The rising curve that is nearest in weighted squares. Points need not be sorted; those at one
/// place are put together first. Points without weight are left out.
#[must_use]
pub fn isotonic(points: &[Point]) -> Curve {
    let mut sorted = points
        .iter()
        .filter(|p| p.weight > 0.0)
        .copied()
        .collect::<Vec<_>>();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x));
    let mut tied: Vec<Point> = Vec::new();
    for point in sorted {
        match tied.last_mut() {
            Some(last) if last.x == point.x => *last = pooled(*last, point),
            _ => tied.push(point),
        }
    }
    // Blocks of (pooled point, number of places).
    let mut blocks: Vec<(Point, usize)> = Vec::new();
    for point in &tied {
        blocks.push((*point, 1));
        while let [.., (before, n), (after, m)] = blocks[..]
            && before.y >= after.y
        {
            blocks.truncate(blocks.len() - 2);
            blocks.push((pooled(before, after), n + m));
        }
    }
    let heights = blocks
        .iter()
        .flat_map(|(p, n)| std::iter::repeat_n(p.y, *n));
    Curve {
        steps: tied.iter().map(|p| p.x).zip(heights).collect(),
    }
}

fn pooled(a: Point, b: Point) -> Point {
    let weight = a.weight + b.weight;
    Point {
        x: a.x,
        y: (a.weight * a.y + b.weight * b.y) / weight,
        weight,
    }
}

impl Curve {
    /// Height at a place: straight lines between the steps, flat beyond them. `None` for a curve
    /// without points.
    #[must_use]
    pub fn at(&self, x: f64) -> Option<f64> {
        let next = self.steps.partition_point(|s| s.0 < x);
        let (first, last) = (self.steps.first()?, self.steps.last()?);
        if next == 0 {
            return Some(first.1);
        }
        let Some((x1, y1)) = self.steps.get(next) else {
            return Some(last.1);
        };
        let (x0, y0) = self.steps[next - 1];
        Some(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    }
}
