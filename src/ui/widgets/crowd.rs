//! The thin grey lines of a crowd in one strip, turned into triangles once and drawn from them frame after frame until
//! what is seen changes: lines, part of time, place, colour or scale.

use std::ops::RangeInclusive;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use eframe::egui::epaint::{PathShape, PathStroke, Tessellator};
use eframe::egui::{Color32, Id, Mesh, Rect, Shape, Ui};
use egui_plot::{PlotBounds, PlotGeometry, PlotItem, PlotItemBase, PlotPoint, PlotTransform};

/// Tells one making of lines from another: each default is a new one, and a copy is the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Making(u64);

impl Default for Making {
    fn default() -> Self {
        static NEXT: AtomicU64 = AtomicU64::new(0);
        Self(NEXT.fetch_add(1, Ordering::Relaxed))
    }
}

/// What a mesh was made for.
#[derive(Debug, Clone, Copy, PartialEq)]
struct MadeFor {
    making: Making,
    frame: Rect,
    bounds: ([f64; 2], [f64; 2]),
    colour: Color32,
    width: f32,
    pixels_per_point: f32,
}

/// Lines that are drawn together, none of which is picked out.
pub struct Crowd<'a> {
    base: PlotItemBase,
    id: Id,
    making: Making,
    runs: Vec<&'a [PlotPoint]>,
    colour: Color32,
    width: f32,
}

impl<'a> Crowd<'a> {
    /// A crowd; `id` names the strip, and `making` says when its lines are other ones.
    pub fn new(id: Id, making: Making, runs: Vec<&'a [PlotPoint]>, (colour, width): (Color32, f32)) -> Self {
        Self {
            base: PlotItemBase::new(word!("widgets-crowd-crowd").to_owned()),
            id,
            making,
            runs,
            colour,
            width,
        }
    }

    fn mesh(&self, ui: &Ui, transform: &PlotTransform, pixels_per_point: f32) -> Mesh {
        let options = ui.ctx().tessellation_options(|options| *options);
        let mut tessellator = Tessellator::new(pixels_per_point, options, [1, 1], Vec::new());
        let mut mesh = Mesh::default();
        let stroke = PathStroke::new(self.width, self.colour);
        for run in &self.runs {
            let points = run.iter().map(|point| transform.position_from_point(point)).collect();
            tessellator.tessellate_path(&PathShape::line(points, stroke.clone()), &mut mesh);
        }
        mesh
    }
}

impl PlotItem for Crowd<'_> {
    fn shapes(&self, ui: &Ui, transform: &PlotTransform, shapes: &mut Vec<Shape>) {
        let pixels_per_point = ui.ctx().pixels_per_point();
        let made_for = MadeFor {
            making: self.making,
            frame: *transform.frame(),
            bounds: (transform.bounds().min(), transform.bounds().max()),
            colour: self.colour,
            width: self.width,
            pixels_per_point,
        };
        let known: Option<(MadeFor, Arc<Mesh>)> = ui.data(|data| data.get_temp(self.id));
        let mesh = match known {
            Some((known, mesh)) if known == made_for => mesh,
            _ => {
                let mesh = Arc::new(self.mesh(ui, transform, pixels_per_point));
                ui.data_mut(|data| data.insert_temp(self.id, (made_for, Arc::clone(&mesh))));
                mesh
            }
        };
        if !mesh.is_empty() {
            shapes.push(Shape::Mesh(mesh));
        }
    }

    fn initialize(&mut self, _x_range: RangeInclusive<f64>) {}

    fn color(&self) -> Color32 {
        self.colour
    }

    fn allow_hover(&self) -> bool {
        false
    }

    fn geometry(&self) -> PlotGeometry<'_> {
        PlotGeometry::None
    }

    fn bounds(&self) -> PlotBounds {
        PlotBounds::NOTHING
    }

    fn base(&self) -> &PlotItemBase {
        &self.base
    }

    fn base_mut(&mut self) -> &mut PlotItemBase {
        &mut self.base
    }
}

#[cfg(test)]
mod tests {
    use eframe::egui::{Context, Rect, pos2, vec2};

    use super::super::strips::{Strip, StripCursor, StripLine, Stroke3, strips};
    use super::*;

    fn crowd(lines: usize) -> Strip {
        let line = |n: usize| StripLine {
            name: format!("pull {n}"),
            end: String::new(),
            stroke: Stroke3::Rest,
            runs: vec![
                (0..50).map(|i| PlotPoint::new(f64::from(i), f64::from(i % 7) + n as f64 * 0.1)).collect(),
            ],
        };
        Strip {
            name: "Flow".into(),
            unit: "g/s".into(),
            range: (0.0, 12.0),
            bands: Vec::new(),
            lines: (0..lines).map(line).collect(),
            making: Making::default(),
        }
    }

    /// Every triangle corner that a frame draws.
    fn corners(ctx: &Context, strip: &Strip, cursor: &mut StripCursor) -> Vec<(f32, f32, Color32)> {
        let input = eframe::egui::RawInput {
            screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), vec2(600.0, 400.0))),
            ..Default::default()
        };
        let shown = std::slice::from_ref(strip);
        let mut output = ctx.run_ui(input, |ui| {
            strips(ui, Id::unique("test"), shown, (0.0, 50.0), cursor, 300.0, true);
        });
        output.textures_delta.clear();
        let meshes = ctx.tessellate(output.shapes, output.pixels_per_point);
        meshes
            .into_iter()
            .flat_map(|one| match one.primitive {
                eframe::egui::epaint::Primitive::Mesh(mesh) => mesh.vertices,
                eframe::egui::epaint::Primitive::Callback(_) => Vec::new(),
            })
            .map(|vertex| (vertex.pos.x, vertex.pos.y, vertex.color))
            .collect()
    }

    #[test]
    fn a_kept_crowd_is_drawn_as_a_new_one_and_changes_with_what_is_seen() {
        let (kept, fresh) = (Context::default(), Context::default());
        crate::ui::theme::install(&kept);
        crate::ui::theme::install(&fresh);
        let strip = crowd(20);
        let mut cursor = StripCursor::default();
        for _ in 0..3 {
            corners(&kept, &strip, &mut cursor);
        }
        let again = corners(&kept, &strip, &mut cursor);
        for _ in 0..3 {
            corners(&fresh, &crowd(20), &mut StripCursor::default());
        }
        assert_eq!(again, corners(&fresh, &crowd(20), &mut StripCursor::default()));
        // Another part of time, and other lines of another making.
        let mut closer = StripCursor { shown: Some((10.0, 20.0)), cursor_s: None };
        corners(&kept, &strip, &mut closer);
        assert_ne!(corners(&kept, &strip, &mut closer), again);
        assert_ne!(corners(&kept, &crowd(30), &mut cursor).len(), again.len());
        assert_eq!(corners(&kept, &strip, &mut cursor), again);
    }
}
