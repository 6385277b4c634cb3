//! The body's lower edge seen from above: bends of linearly changing curvature.

/// Distance between stored samples (mm); chords of it stray less than 0.001 mm at 40 mm radius.
const STEP: f64 = 0.5;

/// One length of the curve, its curvature running linearly (1/mm, left turns positive).
#[derive(Clone, Copy)]
pub struct Bend {
    pub length: f64,
    pub from: f64,
    pub to: f64,
}

/// A place on the curve (vehicle frame, mm).
#[derive(Clone, Copy)]
pub struct Place {
    pub s: f64,
    pub xy: [f64; 2],
    pub heading: f64,
    pub curvature: f64,
}

impl Place {
    /// Unit vector along the curve.
    pub fn tangent(&self) -> [f64; 2] {
        [self.heading.cos(), self.heading.sin()]
    }

    /// Unit vector to the right of travel: out of the vehicle.
    pub fn outward(&self) -> [f64; 2] {
        [self.heading.sin(), -self.heading.cos()]
    }

    /// The point `u` outward of the curve.
    pub fn offset(&self, u: f64) -> [f64; 2] {
        let n = self.outward();
        [self.xy[0] + u * n[0], self.xy[1] + u * n[1]]
    }
}

/// A curve that turns left only, the vehicle on its left.
pub struct Plan {
    samples: Vec<Place>,
}

impl Plan {
    /// Joins bends so that the middle of the curve heads along `heading` and the curve's box is
    /// centred on the origin.
    pub fn new(bends: &[Bend], heading: f64) -> Self {
        let mut samples = Vec::new();
        let mut place = Place {
            s: 0.0,
            xy: [0.0; 2],
            heading: 0.0,
            curvature: bends[0].from,
        };
        for bend in bends {
            let count = (bend.length / STEP).ceil();
            let step = bend.length / count;
            for k in 0..count as usize {
                let at = |f: f64| bend.from + (bend.to - bend.from) * (k as f64 + f) / count;
                place.curvature = at(0.0);
                samples.push(place);
                let middle = place.heading + step / 2.0 * at(0.25);
                place.xy[0] += step * middle.cos();
                place.xy[1] += step * middle.sin();
                place.heading += step * at(0.5);
                place.s += step;
                place.curvature = at(1.0);
            }
        }
        samples.push(place);
        let turn = heading - samples[samples.len() / 2].heading;
        let (sin, cos) = turn.sin_cos();
        for p in &mut samples {
            p.heading += turn;
            p.xy = [cos * p.xy[0] - sin * p.xy[1], sin * p.xy[0] + cos * p.xy[1]];
        }
        for axis in 0..2 {
            let all = samples.iter().map(|p| p.xy[axis]);
            let centre =
                (all.clone().fold(f64::MAX, f64::min) + all.fold(f64::MIN, f64::max)) / 2.0;
            samples.iter_mut().for_each(|p| p.xy[axis] -= centre);
        }
        Self { samples }
    }

    /// Length of the curve (mm).
    pub fn length(&self) -> f64 {
        self.samples[self.samples.len() - 1].s
    }

    /// The place at arc length `s`; straight on before the start and past the end.
    pub fn at(&self, s: f64) -> Place {
        let last = self.samples.len() - 1;
        let clamped = s.clamp(0.0, self.length());
        let next = self
            .samples
            .partition_point(|p| p.s <= clamped)
            .clamp(1, last);
        let (a, b) = (&self.samples[next - 1], &self.samples[next]);
        let f = (clamped - a.s) / (b.s - a.s);
        let mix = |x: f64, y: f64| x + f * (y - x);
        let mut place = Place {
            s,
            xy: [mix(a.xy[0], b.xy[0]), mix(a.xy[1], b.xy[1])],
            heading: mix(a.heading, b.heading),
            curvature: mix(a.curvature, b.curvature),
        };
        let t = place.tangent();
        place.xy[0] += (s - clamped) * t[0];
        place.xy[1] += (s - clamped) * t[1];
        place
    }

    /// Tightest radius (mm), infinite for a straight line.
    pub fn least_radius(&self) -> f64 {
        1.0 / self.samples.iter().map(|p| p.curvature).fold(0.0, f64::max)
    }

    /// Box round the curve: least and greatest corner.
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        let mut low = [f64::MAX; 2];
        let mut high = [f64::MIN; 2];
        for p in &self.samples {
            for axis in 0..2 {
                low[axis] = low[axis].min(p.xy[axis]);
                high[axis] = high[axis].max(p.xy[axis]);
            }
        }
        (low, high)
    }
}
