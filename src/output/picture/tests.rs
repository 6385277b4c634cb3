use super::*;

/// A unit cube about the origin, facing outward.
fn cube() -> TriMesh {
    let points = (0..8)
        .map(|i| {
            let at = |k: usize| if i >> k & 1 == 1 { 0.5 } else { -0.5 };
            Point3::new(at(0), at(1), at(2))
        })
        .collect();
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let triangles = quads
        .iter()
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .collect();
    TriMesh { points, triangles }
}

fn pixel(picture: &Picture, [x, y]: [f64; 2]) -> [u8; 3] {
    let k = 4 * (y as usize * picture.size[0] + x as usize);
    [0, 1, 2].map(|c| picture.rgba[k + c])
}

fn place(picture: &Picture, p: Point3) -> [f64; 2] {
    let [x, y, _] = picture.window.see(p);
    [x, y]
}

#[test]
fn a_cube_from_above_is_a_square_of_its_size() {
    let mesh = cube();
    let shown = [Shown::new(&mesh, [200, 200, 200], Form::Sharp)];
    let view = View::from(Vector3::z(), Vector3::y());
    let picture = Picture::take(&shown, view, [112, 300]).unwrap();
    assert_eq!(picture.size, [112, 112]);
    assert!((picture.pixels_per_unit - 100.0).abs() < 1e-9);
    let corner = place(&picture, Point3::new(-0.5, 0.5, 9.0));
    assert!(corner.iter().all(|v| (v - 6.0).abs() < 1e-9), "{corner:?}");
    let covered = (0..112 * 112)
        .filter(|i| picture.rgba[4 * i + 3] > 0)
        .count();
    // 100 by 100, and half a line more on its rim.
    assert!((10_000..10_500).contains(&covered), "{covered}");
    let at = picture.on_paper(Point3::new(0.5, -0.5, 0.0), 56.0);
    assert!((at - Point2::new(53.0, 3.0)).norm() < 1e-9, "{at}");
    // No line along the diagonal of a flat face.
    let inside = [pixel(&picture, [30.0, 30.0]), pixel(&picture, [56.0, 56.0])];
    assert_eq!(inside[0], inside[1]);
}

#[test]
fn the_nearer_part_hides_the_other_and_edges_are_inked() {
    let mesh = cube();
    let far = Shown::new(&mesh, [200, 40, 40], Form::Sharp);
    let near = Shown {
        tint: [40, 40, 200],
        moved: Vector3::new(0.5, 0.0, 2.0),
        ..far
    };
    let view = View::from(Vector3::z(), Vector3::y());
    for shown in [[far, near], [near, far]] {
        let picture = Picture::take(&shown, view, [200, 200]).unwrap();
        let at = |x: f64| pixel(&picture, place(&picture, Point3::new(x, 0.0, 0.0)));
        let (left, middle) = (at(-0.25), at(0.25));
        assert!(
            left[0] > left[2] && middle[2] > middle[0],
            "{left:?} {middle:?}"
        );
        let rim = place(&picture, Point3::new(0.0, 0.1, 0.0));
        let darkest = (-2..=2)
            .map(|k| pixel(&picture, [rim[0] + f64::from(k), rim[1]]))
            .map(|p| p.iter().map(|v| u32::from(*v)).sum::<u32>())
            .min();
        assert!(darkest < Some(250), "{darkest:?}");
    }
}

#[test]
fn odd_meshes_give_a_picture_or_none() {
    let view = View::from_outside();
    assert!(Picture::take(&[], view, [100, 100]).is_none());
    let mut mesh = cube();
    mesh.triangles.push([0, 1, 999]);
    mesh.points[0].x = f64::NAN;
    let shown = [Shown::new(&mesh, [1, 2, 3], Form::Soft)];
    if let Some(picture) = Picture::take(&shown, view, [50, 0]) {
        assert_eq!(picture.rgba.len(), 4 * picture.size[0] * picture.size[1]);
    }
    assert_eq!(
        View::from(Vector3::zeros(), Vector3::z())
            .seen(Vector3::z())
            .z,
        1.0
    );
}

#[test]
fn the_file_is_read_back_by_another_reader_the_same() {
    let mesh = cube();
    let shown = [Shown::new(&mesh, [210, 205, 190], Form::Sharp)];
    let picture = Picture::take(&shown, View::from_outside(), [90, 90]).unwrap();
    let bytes = picture.png();
    let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes))
        .read_info()
        .unwrap();
    let mut data = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut data).unwrap();
    assert_eq!([info.width as usize, info.height as usize], picture.size);
    assert_eq!(data, picture.rgba);
    assert_eq!(bytes, picture.png());
}
