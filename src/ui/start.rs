//! Opening the window, and saying plainly why it cannot be opened.

use eframe::egui::{Context, ViewportBuilder};

/// Opens a window and runs it to its end.
///
/// # Errors
/// One plain sentence when there is no display, no OpenGL or a library is missing.
pub fn open_window(
    title: &str,
    make: impl FnOnce(&Context) -> Box<dyn eframe::App> + 'static,
) -> Result<(), String> {
    let options = eframe::NativeOptions {
        viewport: ViewportBuilder::default()
            .with_app_id("thirdpull")
            .with_title(title)
            .with_inner_size([1280.0, 800.0])
            .with_min_inner_size([900.0, 600.0])
            .with_drag_and_drop(true),
        // Chosen by name: a build with test features also holds another renderer.
        renderer: eframe::Renderer::Glow,
        ..Default::default()
    };
    eframe::run_native(
        title,
        options,
        Box::new(|cc| {
            super::theme::install(&cc.egui_ctx);
            Ok(make(&cc.egui_ctx))
        }),
    )
    .map_err(|fault| plain(&fault.to_string()))
}

/// What a person can do about a window that does not open.
fn plain(fault: &str) -> String {
    let lower = fault.to_lowercase();
    if lower.contains("wayland_display") || lower.contains("display is set") || lower.contains("xopendisplay")
    {
        return word!("start-there-is-no-screen-to-open").to_owned();
    }
    if lower.contains("libraryopenerror") || lower.contains(".so") {
        let library = fault
            .split(|c: char| !(c.is_alphanumeric() || matches!(c, '.' | '-' | '_' | '+')))
            .find(|word| word.contains(".so"))
            .unwrap_or(word!("start-a-system-library"));
        return say!("start-the-window-needs-which-is-not", library = library);
    }
    if lower.contains("glutin") || lower.contains("opengl") || lower.contains("gl ") {
        return word!("start-the-window-needs-opengl-2-0").to_owned();
    }
    let short: String =
        fault.lines().next().unwrap_or(word!("start-unknown-reason")).chars().take(200).collect();
    say!("start-the-window-could-not-be-opened", short = short)
}

#[cfg(test)]
mod tests {
    use super::plain;

    /// The messages were seen on systems without a display, a library and a driver.
    #[test]
    fn start_failures_become_plain_sentences() {
        let none = "winit EventLoopError: os error at x: neither WAYLAND_DISPLAY nor WAYLAND_SOCKET nor DISPLAY is set.";
        assert!(plain(none).contains("no screen"));
        let library = r#"XNotSupported(LibraryOpenError(OpenError { kind: Library, detail: "libXcursor.so.1: cannot open" }))"#;
        assert!(plain(library).contains("libXcursor.so.1"), "{}", plain(library));
        assert!(plain("Found no glutin configs matching the template").contains("OpenGL"));
    }
}
