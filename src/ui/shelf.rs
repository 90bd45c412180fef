//! The shelf at the left: bags in groups, search, and the way to everything else.

use eframe::egui::{
    self, Align2, CornerRadius, CursorIcon, Frame, Id, Margin, Rect, Role, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

use super::actions::{self, Action};
use super::app::App;
use super::theme::icons::Icon;
use super::theme::{focus_ring, look, palette, scale};
use super::widgets::{Button, TextField, elided, small};
use crate::workbench::view::shelf::{ShelfGroup, ShelfItem};

/// The search field.
pub(super) fn search_id() -> Id {
    Id::unique("shelf-search")
}

impl App {
    pub(super) fn shelf_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        let width = 268.0;
        let frame = Frame::NONE.fill(p.shelf).inner_margin(Margin::symmetric(12, 12));
        egui::Panel::left("shelf").exact_size(width).resizable(false).frame(frame).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            let mut asked = None;
            if ui.add(Button::quiet(word!("shelf-new-bag")).icon(Icon::Plus).key("B").width(244.0)).clicked()
            {
                asked = Some(Action::NewBag);
            }
            let search = TextField::new(word!("shelf-search-the-shelf"), search_id())
                .hint(word!("shelf-search"))
                .width(224.0);
            let response = search.bare(ui, &mut self.page.search);
            response.accessible_name(word!("shelf-search-the-shelf"));
            let foot = [
                (Action::Opening, Icon::Cup, word!("shelf-opening")),
                (Action::Practice, Icon::Eye, word!("shelf-practice-bench")),
                (Action::Stations, Icon::Station, word!("shelf-stations")),
                (Action::Drinkers, Icon::Person, word!("shelf-drinkers")),
                (Action::Notebook, Icon::Book, word!("shelf-notebook")),
                (Action::Settings, Icon::Sliders, word!("shelf-settings")),
                (Action::Keys, Icon::Key, word!("shelf-keys")),
            ];
            let foot_height = foot.len() as f32 * (look(ui).target + scale::GAP_1) + 8.0;
            let height = (ui.available_height() - foot_height).max(120.0);
            let groups = self.shelf_view();
            egui::ScrollArea::vertical().id_salt("shelf-list").max_height(height).auto_shrink(false).show(
                ui,
                |ui| {
                    for group in groups.iter() {
                        self.group_ui(ui, group);
                    }
                    if groups.is_empty() {
                        let text = if self.page.search.is_empty() {
                            word!("shelf-no-bag-yet")
                        } else {
                            word!("shelf-no-bag-has-that-in-its")
                        };
                        small(ui, text);
                    }
                },
            );
            for (action, icon, label) in foot {
                if ui.add(Button::quiet(label).icon(icon).key(actions::key(action)).width(244.0)).clicked() {
                    asked = Some(action);
                }
            }
            if let Some(action) = asked {
                self.act(&ui.ctx().clone(), action);
            }
        });
    }

    fn group_ui(&mut self, ui: &mut Ui, group: &ShelfGroup) {
        let p = palette(ui);
        let folded = self.is_folded(group);
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::click());
        response.widget_info(|| {
            let state = if folded { word!("shelf-folded") } else { word!("shelf-open") };
            WidgetInfo::labeled(Role::DisclosureTriangle, true, format!("{}, {state}", group.title))
        });
        if response.clicked() && !self.page.folded.remove(&group.state) {
            self.page.folded.insert(group.state);
        }
        let at = pos2(rect.left() + 4.0, rect.bottom() - 6.0);
        ui.painter().text(at, Align2::LEFT_BOTTOM, group.title, scale::semibold(scale::SMALL), p.soft);
        let count = group.items.len().to_string();
        let right = pos2(rect.right() - 26.0, rect.bottom() - 6.0);
        ui.painter().text(right, Align2::RIGHT_BOTTOM, count, scale::regular(scale::SMALL), p.soft);
        let wedge = Rect::from_center_size(pos2(rect.right() - 12.0, rect.bottom() - 16.0), vec2(14.0, 14.0));
        if folded {
            Icon::Plus.paint(ui.painter(), wedge.shrink(1.0), p.soft);
        } else {
            Icon::Open.paint(ui.painter(), wedge, p.soft);
        }
        focus_ring(ui, &response, 4.0);
        response.on_hover_cursor(CursorIcon::PointingHand);
        if folded {
            return;
        }
        for item in &group.items {
            let chosen = !self.opening.open && !self.practice.open && self.page.bag == Some(item.id);
            if bag_row(ui, item, chosen) {
                self.practice.open = false;
                self.opening.open = false;
                self.page.go_to(Some(item.id));
            }
        }
    }
}

fn bag_row(ui: &mut Ui, item: &ShelfItem, chosen: bool) -> bool {
    let p = palette(ui);
    let height = look(ui).target.max(50.0);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    response.widget_info(|| {
        WidgetInfo::selected(Role::ListItem, true, chosen, format!("{}, {}", item.name, item.detail))
    });
    if ui.is_rect_visible(rect) {
        if chosen {
            ui.painter().rect_filled(rect, CornerRadius::same(6), p.selected);
            let mark = Rect::from_min_max(rect.min, pos2(rect.left() + 4.0, rect.bottom()));
            ui.painter().rect_filled(mark, CornerRadius::same(2), p.accent);
        } else if response.hovered() {
            ui.painter().rect_filled(rect, CornerRadius::same(6), p.hover);
        }
        let font = if chosen { scale::semibold(17.0) } else { scale::regular(17.0) };
        let clip = ui.painter().with_clip_rect(rect.shrink2(vec2(4.0, 0.0)));
        let name = elided(ui, &item.name, font, p.ink, rect.width() - 20.0);
        clip.galley(pos2(rect.left() + 12.0, rect.center().y - 22.0), name, p.ink);
        let detail = elided(ui, &item.detail, scale::regular(15.0), p.soft, rect.width() - 20.0);
        clip.galley(pos2(rect.left() + 12.0, rect.center().y + 2.0), detail, p.soft);
        focus_ring(ui, &response, 6.0);
    }
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// A hairline over the full width.
pub(super) fn hairline(ui: &mut Ui) {
    let p = palette(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 1.0), Sense::hover());
    ui.painter().hline(rect.x_range(), rect.center().y, Stroke::new(1.0, p.hairline));
}
