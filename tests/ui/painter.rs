//! Paints what the window draws, triangle by triangle, without a graphics card or its driver, so that pictures are the
//! same to the bit wherever they are taken.
//!
//! Pixel centres, the top-left rule on shared edges, and blending of premultiplied colours as in the graphics standards
//! (OpenGL 4.6 core, sections 14.6.1 and 17.3.6; colours are blended as they are stored, which is what egui asks of
//! its painters).

use std::collections::HashMap;

use eframe::egui::epaint::{ImageData, Primitive, Vertex};
use eframe::egui::{Color32, ColorImage, Context, FullOutput, TextureId, TexturesDelta};
use egui_kittest::TestRenderer;
use image::{Rgba, RgbaImage};

/// Subpixel steps of a vertex: whole numbers make shared edges meet exactly.
const STEPS: f32 = 256.0;

/// A painter in memory.
#[derive(Default)]
pub struct Painter {
    textures: HashMap<TextureId, ColorImage>,
}

impl TestRenderer for Painter {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        for (id, changes) in delta.set.drain() {
            for change in changes {
                let ImageData::Color(new) = change.image;
                match (change.pos, self.textures.get_mut(&id)) {
                    (Some([left, top]), Some(known)) => {
                        for y in 0..new.height() {
                            for x in 0..new.width() {
                                known[(left + x, top + y)] = new[(x, y)];
                            }
                        }
                    }
                    _ => {
                        self.textures.insert(id, (*new).clone());
                    }
                }
            }
        }
        for id in delta.free.drain() {
            self.textures.remove(&id);
        }
    }

    fn render(&mut self, ctx: &Context, output: &FullOutput) -> Result<RgbaImage, String> {
        let scale = ctx.pixels_per_point();
        let size = ctx.content_rect().size() * scale;
        let mut picture = Picture::new(size.x.round() as usize, size.y.round() as usize);
        for clipped in ctx.tessellate(output.shapes.clone(), scale) {
            let Primitive::Mesh(mesh) = clipped.primitive else {
                return Err("a shape paints itself; this painter knows triangles only".to_owned());
            };
            let texture =
                self.textures.get(&mesh.texture_id).ok_or("a texture is used that was never set")?;
            let clip = [
                (clipped.clip_rect.min.x * scale).round(),
                (clipped.clip_rect.min.y * scale).round(),
                (clipped.clip_rect.max.x * scale).round(),
                (clipped.clip_rect.max.y * scale).round(),
            ];
            for corners in mesh.indices.chunks_exact(3) {
                let corner = |at: usize| mesh.vertices[corners[at] as usize];
                picture.triangle([corner(0), corner(1), corner(2)], scale, clip, texture);
            }
        }
        Ok(picture.finish())
    }
}

struct Picture {
    width: usize,
    height: usize,
    pixels: Vec<[f32; 4]>,
}

fn channels(colour: Color32) -> [f32; 4] {
    colour.to_array().map(f32::from)
}

/// Parts of a texel that a place in a texture is rounded to, so that a glyph looks the same wherever in its texture it was
/// put: which is told by the order in which words were first drawn, and so by how long background work took.
const SUBTEXELS: f32 = 256.0;

/// The texture between its texels; at the edge its outermost ones.
fn sample(texture: &ColorImage, u: f32, v: f32) -> [f32; 4] {
    let (width, height) = (texture.width(), texture.height());
    let place = |share: f32, size: usize| ((share * size as f32 - 0.5) * SUBTEXELS).round() / SUBTEXELS;
    let (x, y) = (place(u, width), place(v, height));
    let (left, top) = (x.floor(), y.floor());
    let (across, down) = (x - left, y - top);
    let at = |x: f32, y: f32| {
        let x = (x.max(0.0) as usize).min(width - 1);
        let y = (y.max(0.0) as usize).min(height - 1);
        channels(texture.pixels[y * width + x])
    };
    if across == 0.0 && down == 0.0 {
        return at(left, top);
    }
    let corners = [at(left, top), at(left + 1.0, top), at(left, top + 1.0), at(left + 1.0, top + 1.0)];
    std::array::from_fn(|n| {
        let upper = corners[0][n] + (corners[1][n] - corners[0][n]) * across;
        let lower = corners[2][n] + (corners[3][n] - corners[2][n]) * across;
        upper + (lower - upper) * down
    })
}

impl Picture {
    fn new(width: usize, height: usize) -> Self {
        Self { width, height, pixels: vec![[0.0, 0.0, 0.0, 255.0]; width * height] }
    }

    fn triangle(&mut self, corners: [Vertex; 3], scale: f32, clip: [f32; 4], texture: &ColorImage) {
        let fixed = |value: f32| (value * scale * STEPS).round() as i64;
        let mut points = corners.map(|corner| (fixed(corner.pos.x), fixed(corner.pos.y)));
        let mut corners = corners;
        let area = |a: (i64, i64), b: (i64, i64), c: (i64, i64)| {
            (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
        };
        let mut whole = area(points[0], points[1], points[2]);
        if whole == 0 {
            return;
        }
        if whole < 0 {
            points.swap(1, 2);
            corners.swap(1, 2);
            whole = -whole;
        }
        let step = STEPS as i64;
        let least = |of: [i64; 3]| of.into_iter().fold(i64::MAX, i64::min).div_euclid(step);
        let most = |of: [i64; 3]| of.into_iter().fold(i64::MIN, i64::max).div_euclid(step) + 1;
        let (xs, ys) = (points.map(|p| p.0), points.map(|p| p.1));
        let left = least(xs).max(clip[0] as i64).max(0);
        let right = most(xs).min(clip[2] as i64).min(self.width as i64);
        let top = least(ys).max(clip[1] as i64).max(0);
        let bottom = most(ys).min(clip[3] as i64).min(self.height as i64);
        // An edge that points right along the top, or up along the left, owns the pixels on it.
        let owns = |a: (i64, i64), b: (i64, i64)| (a.1 == b.1 && b.0 > a.0) || b.1 < a.1;
        let edges = [(1, 2), (2, 0), (0, 1)];
        let bias = edges.map(|(a, b)| i64::from(!owns(points[a], points[b])));
        let plain = corners.iter().all(|c| c.uv == corners[0].uv && c.color == corners[0].color);
        let flat = plain.then(|| {
            let texel = sample(texture, corners[0].uv.x, corners[0].uv.y);
            let colour = channels(corners[0].color);
            std::array::from_fn::<f32, 4, _>(|n| texel[n] * colour[n] / 255.0)
        });
        let colours = corners.map(|corner| channels(corner.color));
        for y in top..bottom {
            for x in left..right {
                let centre = (x * step + step / 2, y * step + step / 2);
                let parts = edges.map(|(a, b)| area(points[a], points[b], centre));
                if (0..3).any(|n| parts[n] < bias[n]) {
                    continue;
                }
                let source = flat.unwrap_or_else(|| {
                    let share = parts.map(|part| part as f32 / whole as f32);
                    let mix = |of: [f32; 3]| (0..3).map(|n| of[n] * share[n]).sum::<f32>();
                    let texel = sample(
                        texture,
                        mix(corners.map(|corner| corner.uv.x)),
                        mix(corners.map(|corner| corner.uv.y)),
                    );
                    std::array::from_fn(|n| texel[n] * mix(colours.map(|colour| colour[n])) / 255.0)
                });
                let under = &mut self.pixels[y as usize * self.width + x as usize];
                let through = 1.0 - source[3] / 255.0;
                for (under, over) in under.iter_mut().zip(source) {
                    // Stored as a byte after each layer, as a frame buffer does.
                    *under = (over + *under * through).clamp(0.0, 255.0).round();
                }
            }
        }
    }

    fn finish(self) -> RgbaImage {
        let mut image = RgbaImage::new(self.width as u32, self.height as u32);
        for (to, from) in image.pixels_mut().zip(&self.pixels) {
            // Sixteen shades a channel: a picture is a third as large, and still shows what moved or changed its colour.
            *to = Rgba(from.map(|value| value as u8 / 16 * 17));
        }
        image
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Pos2, pos2};

    fn vertex(x: f32, y: f32, color: Color32) -> Vertex {
        Vertex { pos: pos2(x, y), uv: Pos2::ZERO, color }
    }

    fn white() -> ColorImage {
        ColorImage::filled([1, 1], Color32::WHITE)
    }

    const ALL: [f32; 4] = [0.0, 0.0, 1e6, 1e6];

    #[test]
    fn two_halves_of_a_square_cover_every_pixel_once() {
        let glass = Color32::from_rgba_premultiplied(100, 0, 0, 128);
        let corners = [(1.0, 1.0), (7.0, 1.0), (7.0, 7.0), (1.0, 7.0)].map(|(x, y)| vertex(x, y, glass));
        let mut picture = Picture::new(8, 8);
        picture.triangle([corners[0], corners[1], corners[2]], 1.0, ALL, &white());
        // The other way round: the direction of the corners does not matter.
        picture.triangle([corners[0], corners[3], corners[2]], 1.0, ALL, &white());
        let image = picture.finish();
        for (x, y, pixel) in image.enumerate_pixels() {
            let inside = (1..7).contains(&x) && (1..7).contains(&y);
            // 100 once; covered twice it would be 150.
            assert_eq!(pixel.0[0], if inside { 6 * 17 } else { 0 }, "{x} {y}");
        }
    }

    #[test]
    fn colours_lie_over_each_other_and_end_at_the_clip() {
        let mut picture = Picture::new(4, 4);
        let half = Color32::from_rgba_premultiplied(0, 0, 128, 128);
        for colour in [Color32::from_rgb(200, 100, 0), half] {
            let corners = [(-9.0, -9.0), (90.0, -9.0), (-9.0, 90.0)].map(|(x, y)| vertex(x, y, colour));
            picture.triangle(corners, 1.0, [0.0, 0.0, 2.0, 4.0], &white());
        }
        let image = picture.finish();
        // 200 (1 − 128/255) = 99.6; 100 (1 − 128/255) = 49.8; each kept as its sixteenth.
        assert_eq!(image.get_pixel(1, 3).0, [6 * 17, 3 * 17, 8 * 17, 255]);
        assert_eq!(image.get_pixel(2, 3).0, [0, 0, 0, 255]);
    }

    #[test]
    fn a_texture_is_read_between_its_texels() {
        let grey = |value: u8| Color32::from_gray(value);
        let texture = ColorImage::new([2, 1], vec![grey(0), grey(200)]);
        assert_eq!(sample(&texture, 0.25, 0.5)[0], 0.0);
        assert_eq!(sample(&texture, 0.5, 0.5)[0], 100.0);
        assert_eq!(sample(&texture, 0.75, 0.5)[0], 200.0);
        assert_eq!(sample(&texture, 1.0, 0.5)[0], 200.0);
    }

    #[test]
    fn where_in_its_texture_a_glyph_lies_changes_nothing() {
        const LONG: usize = 250;
        let glyph: Vec<Color32> = (0..LONG).map(|at| Color32::from_gray((at * 97 % 256) as u8)).collect();
        let wide = 2048;
        let shown = |left: usize| {
            let mut pixels = vec![Color32::BLACK; wide];
            pixels[left..left + LONG].copy_from_slice(&glyph);
            let texture = ColorImage::new([wide, 1], pixels);
            let mut picture = Picture::new(LONG + 4, 1);
            let corner = |(x, y): (f32, f32)| Vertex {
                pos: pos2(2.0 + x, y),
                uv: pos2((left as f32 + x) / wide as f32, y),
                color: Color32::from_rgb(31, 129, 230),
            };
            let long = LONG as f32;
            for corners in [[(0.0, 0.0), (long, 0.0), (0.0, 1.0)], [(long, 0.0), (long, 1.0), (0.0, 1.0)]] {
                picture.triangle(corners.map(corner), 1.0, ALL, &texture);
            }
            picture.pixels.concat()
        };
        let first = shown(8);
        for left in (9..wide - LONG).step_by(13) {
            assert_eq!(shown(left), first, "{left}");
        }
    }
}
