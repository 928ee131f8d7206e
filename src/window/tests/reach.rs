//! Everything by the keyboard alone, and everything with a name that can be spoken.

use super::*;
use crate::scene::edit::{ThingId, find, place};
use crate::window::desk::{Foot, Leaving, Over, PathFor};
use crate::window::theme::Paper;
use bevy_egui::egui::accesskit::Role;
use egui_kittest::kittest::NodeT;
use std::collections::BTreeSet;

/// What can be pressed, ticked, turned or filled in.
const CONTROLS: &[Role] = &[
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::Slider,
    Role::SpinButton,
    Role::TextInput,
    Role::MultilineTextInput,
    Role::Link,
];

/// A control as a screen reader finds it.
struct Control {
    id: String,
    role: Role,
    name: String,
    off: bool,
}

fn controls(window: &Window) -> Vec<Control> {
    let root = window.root();
    let nodes = root.children_recursive();
    nodes
        .map(|node| node.accesskit_node())
        .filter(|node| CONTROLS.contains(&node.role()))
        .map(|node| Control {
            id: format!("{:?}", node.id()),
            role: node.role(),
            name: node.label().unwrap_or_default(),
            off: node.is_disabled(),
        })
        .collect()
}

fn focused(window: &Window) -> Option<String> {
    let root = window.root();
    let mut nodes = root.children_recursive();
    nodes
        .find(|node| node.accesskit_node().is_focused())
        .map(|node| format!("{:?}", node.accesskit_node().id()))
}

/// All that Tab comes to, until it is round.
fn walk(window: &mut Window) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let mut old = 0;
    for _ in 0..400 {
        key(window, Key::Tab, Modifiers::NONE);
        match focused(window) {
            Some(id) if seen.insert(id.clone()) => old = 0,
            _ => old += 1,
        }
        if old > 12 {
            break;
        }
    }
    seen
}

/// Controls of what is shown that have no name, or to which Tab does not come.
fn missed(window: &mut Window, what: &str) -> Vec<String> {
    let mut list = Vec::new();
    for control in controls(window) {
        if control.name.trim().is_empty() {
            list.push(format!("{what}: a {:?} without a name", control.role));
        }
    }
    let seen = walk(window);
    for control in controls(window) {
        if !control.off && !seen.contains(&control.id) {
            list.push(format!(
                "{what}: Tab does not come to {:?} \"{}\"",
                control.role, control.name
            ));
        }
    }
    list
}

/// Invariant, pane by pane and thing by thing.
#[test]
fn tab_comes_to_every_control_and_each_has_a_name() {
    let mut window = window(SMALL);
    let mut list = Vec::new();
    for (which, what) in [
        (Key::F2, "side view"),
        (Key::F3, "hours"),
        (Key::F4, "frame"),
        (Key::F5, "settings"),
        (Key::F6, "readings"),
    ] {
        key(&mut window, which, Modifiers::NONE);
        settle(&mut window);
        list.extend(missed(&mut window, what));
        window.ctx.memory_mut(|m| m.stop_text_input());
        key(&mut window, Key::Escape, Modifiers::NONE);
    }
    key(&mut window, Key::F2, Modifiers::NONE);
    for i in 0..5 {
        window.ctx.memory_mut(|m| m.stop_text_input());
        let things = crate::scene::edit::things(&document(&mut window));
        let world = &mut window.state_mut().world;
        world.resource_mut::<Desk>().selection = vec![things[i].0.clone()];
        window.step();
        let what = things[i].0.label().to_owned();
        list.extend(missed(&mut window, &what));
    }
    assert!(list.is_empty(), "{list:#?}");
}

/// Puts the keys on a control by Tab alone, and presses it by Space.
fn press_by_keys(window: &mut Window, name: &str) {
    for _ in 0..200 {
        key(window, Key::Tab, Modifiers::NONE);
        let now = focused(window);
        let at = controls(window);
        if at
            .iter()
            .any(|c| c.name == name && now.as_ref() == Some(&c.id))
        {
            key(window, Key::Space, Modifiers::NONE);
            return;
        }
    }
    panic!("Tab does not come to {name}");
}

/// Of what came since some controls were there: those without a name, or to which Tab does not
/// come; and where nothing but that may be come to, those to which it does.
fn missed_of_new(
    window: &mut Window,
    old: &BTreeSet<String>,
    alone: bool,
    what: &str,
) -> Vec<String> {
    let new: Vec<Control> = (controls(window).into_iter())
        .filter(|c| !old.contains(&c.id))
        .collect();
    assert!(!new.is_empty(), "{what} has nothing to press");
    let mut list = Vec::new();
    let seen = walk(window);
    for control in &new {
        if control.name.trim().is_empty() {
            list.push(format!("{what}: a {:?} without a name", control.role));
        }
        if !control.off && !seen.contains(&control.id) {
            let (role, name) = (control.role, &control.name);
            list.push(format!("{what}: Tab does not come to {role:?} \"{name}\""));
        }
    }
    if alone {
        let below = seen.iter().filter(|id| old.contains(*id)).count();
        if below > 0 {
            list.push(format!("{what}: Tab comes to {below} controls below it"));
        }
    }
    list
}

fn ids(window: &Window) -> BTreeSet<String> {
    controls(window).into_iter().map(|c| c.id).collect()
}

/// Invariant: the entries of menus, the details of the scene and the sheets laid over the window.
#[test]
fn tab_comes_to_menus_and_sheets() {
    let mut window = window(SMALL);
    let mut list = Vec::new();
    for menu in ["Scene", "Add", "Show"] {
        let old = ids(&window);
        press_by_keys(&mut window, menu);
        list.extend(missed_of_new(&mut window, &old, false, menu));
        let chosen = ThingId::Named("panel".into());
        let world = &mut window.state_mut().world;
        world.resource_mut::<Desk>().selection = vec![chosen.clone()];
        key(&mut window, Key::Escape, Modifiers::NONE);
        let left: Vec<String> = ids(&window).difference(&old).cloned().collect();
        assert!(
            desk(&window).selection == [chosen],
            "Esc was for the menu alone"
        );
        window
            .state_mut()
            .world
            .resource_mut::<Desk>()
            .selection
            .clear();
        window.step();
        let open = egui_popup_open(&window);
        assert!(!open, "{menu} stays open, with {left:?}");
    }
    press_by_keys(&mut window, "Show");
    press_by_keys(&mut window, "Details of the scene");
    key(&mut window, Key::Escape, Modifiers::NONE);
    assert!(desk(&window).scene_details);
    settle(&mut window);
    list.extend(missed(&mut window, "details of the scene"));
    let world = &mut window.state_mut().world;
    world.resource_mut::<Desk>().scene_details = false;
    window.step();
    let path = std::path::PathBuf::from("elsewhere.ron");
    for (over, what) in [
        (Over::Keys, "keys"),
        (Over::Path(PathFor::Open, "x.ron".into()), "open"),
        (Over::Path(PathFor::SaveAs, "x.ron".into()), "save as"),
        (Over::Path(PathFor::Export, "x.svg".into()), "sheet as"),
        (Over::Unsaved(Leaving::New), "not saved"),
        (Over::Recover(path), "a newer copy"),
    ] {
        let old = ids(&window);
        window.state_mut().world.resource_mut::<Desk>().over = over;
        window.step();
        window.step();
        let first = focused(&window);
        assert!(
            first.is_some_and(|id| !old.contains(&id)),
            "{what} has the keys"
        );
        list.extend(missed_of_new(&mut window, &old, true, what));
        window.ctx.memory_mut(|m| m.stop_text_input());
        key(&mut window, Key::Escape, Modifiers::NONE);
        assert!(desk(&window).over == Over::Nothing, "Esc closes {what}");
    }
    assert!(list.is_empty(), "{list:#?}");
}

fn egui_popup_open(window: &Window) -> bool {
    bevy_egui::egui::Popup::is_any_open(&window.ctx)
}

/// Invariant: a press is a click whether it comes and goes within one frame, or lasts for seconds
/// because frames are slow.
#[test]
fn a_click_of_any_length_counts() {
    let mut window = window(SMALL);
    let at = on_screen(&window, DVec2::new(1.2, -0.8));
    let button = |pressed| Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    let panel = [ThingId::Named("panel".into())];
    window.event(Event::PointerMoved(at));
    window.event(button(true));
    window.event(button(false));
    window.step();
    window.step();
    assert_eq!(desk(&window).selection, panel, "within one frame");
    key(&mut window, Key::Escape, Modifiers::NONE);
    assert!(desk(&window).selection.is_empty());
    window.event(button(true));
    // a quarter of a second each, by the clock of the test
    for _ in 0..12 {
        window.step();
    }
    window.event(button(false));
    window.step();
    window.step();
    assert_eq!(desk(&window).selection, panel, "over three seconds");
}

/// Each way of using a control: a word pressed by Space, a thing of the plan moved, turned, raised,
/// tilted and taken away by keys, with no pointer at all.
#[test]
fn keys_do_what_a_pointer_does() {
    let mut window = window(SMALL);
    let hours = |w: &Window| {
        let all = controls(w);
        all.into_iter()
            .find(|c| c.name == "Hours")
            .expect("Hours")
            .id
    };
    let wanted = hours(&window);
    for _ in 0..100 {
        key(&mut window, Key::Tab, Modifiers::NONE);
        if focused(&window).as_ref() == Some(&wanted) {
            break;
        }
    }
    key(&mut window, Key::Space, Modifiers::NONE);
    assert_eq!(desk(&window).foot, Foot::Day);
    key(&mut window, Key::Escape, Modifiers::NONE);
    window.ctx.memory_mut(|m| m.stop_text_input());
    let panel = ThingId::Named("panel".into());
    for _ in 0..5 {
        if desk(&window).selection == [panel.clone()] {
            break;
        }
        key(&mut window, Key::N, Modifiers::NONE);
    }
    let at = |w: &mut Window| {
        let now = document(w);
        let thing = find(&now, &panel).expect("is there");
        (place(thing), now.panels[0].lower_edge_m)
    };
    let before = at(&mut window);
    key(&mut window, Key::PageUp, Modifiers::NONE);
    let raised = at(&mut window);
    assert_eq!(raised.1, before.1.map(|h| h + 0.1));
    for text in ["]", "."] {
        let was = document(&mut window);
        window.event(Event::Text(text.into()));
        window.step();
        window.step();
        assert_ne!(document(&mut window), was, "{text}");
    }
    // out of the fields, back to the plan
    for _ in 0..400 {
        if window.ctx.memory(|m| m.focused()) == desk(&window).plan_id {
            break;
        }
        key(&mut window, Key::Tab, Modifiers::NONE);
    }
    key(&mut window, Key::ArrowRight, Modifiers::NONE);
    let moved = at(&mut window);
    assert!((moved.0 - raised.0).length() > 0.05, "{moved:?}");
    key(&mut window, Key::Delete, Modifiers::NONE);
    assert!(document(&mut window).panels.is_empty());
}

/// Invariant: words drawn before the picture of glyphs is made anew are drawn again.
#[test]
fn other_paper_draws_the_words_again() {
    let mut window = window(SMALL);
    let before = desk(&window).glyphs.0;
    let mut desk_now = window
        .state_mut()
        .world
        .remove_resource::<Desk>()
        .expect("a desk");
    desk_now.paper = Paper::Dark;
    window.state_mut().world.insert_resource(desk_now);
    for _ in 0..3 {
        window.step();
    }
    assert!(desk(&window).glyphs.0 > before);
}
