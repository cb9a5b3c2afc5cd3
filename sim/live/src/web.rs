//! The program in a page: `#demo=NAME` in the address chooses the demo.

use eframe::{WebOptions, WebRunner};
use web_sys::wasm_bindgen::JsCast;
use web_sys::{Document, HtmlCanvasElement};

use crate::app::Live;
use crate::logic::load::Loaded;
use crate::logic::session::Session;
use crate::ui::window::Window;

/// Starts the window in the page's canvas.
pub fn main() {
    let Some(page) = web_sys::window().and_then(|window| window.document()) else { return };
    let canvas = page.get_element_by_id("window");
    let Some(canvas) = canvas.and_then(|found| found.dyn_into::<HtmlCanvasElement>().ok()) else {
        return fail(&page, "The page has no canvas named window.");
    };
    let session = match Loaded::demo(&wished(&page)).and_then(Session::new) {
        Ok(session) => session,
        Err(why) => return fail(&page, &why),
    };
    wasm_bindgen_futures::spawn_local(async move {
        let window = Window::new(session);
        let made = WebRunner::new()
            .start(canvas, WebOptions::default(), Box::new(|_| Ok(Box::new(Live::new(window)))))
            .await;
        if made.is_err() {
            fail(&page, "This browser cannot draw the window: it needs WebGL 2.");
        }
    });
}

fn wished(page: &Document) -> String {
    let hash = page.location().and_then(|place| place.hash().ok()).unwrap_or_default();
    hash.strip_prefix("#demo=").unwrap_or("garden").to_owned()
}

/// Says why there is no picture, where everybody sees it.
fn fail(page: &Document, words: &str) {
    say(page, words);
    if let Some(status) = page.get_element_by_id("status") {
        status.set_class_name("failed");
    }
}

/// What the page says beside the picture.
pub(crate) fn say(page: &Document, words: &str) {
    if let Some(status) = page.get_element_by_id("status") {
        status.set_text_content(Some(words));
    }
}
