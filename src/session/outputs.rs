//! The outputs a picture can be sent to, by name, and word when they change.

use winit::event_loop::ActiveEventLoop;

/// Between two looks at the outputs, where no event tells of them.
#[cfg(target_os = "linux")]
const LOOK_EVERY: std::time::Duration = std::time::Duration::from_secs(1);

/// A place for a picture, in desktop pixels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Output {
    pub name: String,
    pub place: [i32; 2],
    pub size: [u32; 2],
    pub primary: bool,
}

/// The outputs as the windowing library knows them.
pub fn known(event_loop: &ActiveEventLoop) -> Vec<Output> {
    let primary = event_loop.primary_monitor();
    let outputs = event_loop.available_monitors().enumerate();
    let output = |(k, m): (usize, winit::monitor::MonitorHandle)| Output {
        name: m.name().unwrap_or_else(|| format!("output {}", k + 1)),
        place: [m.position().x, m.position().y],
        size: [m.size().width, m.size().height],
        primary: Some(&m) == primary.as_ref(),
    };
    outputs.map(output).collect()
}

/// The output for the projector: the one asked for by name; else the only one
/// that is not the desktop's first. `None`: an ordinary window.
pub fn chosen<'a>(outputs: &'a [Output], wanted: Option<&str>) -> Option<&'a Output> {
    if let Some(name) = wanted {
        return outputs.iter().find(|o| o.name == name);
    }
    let first = outputs.iter().find(|o| o.primary).or(outputs.first())?;
    let mut others = outputs.iter().filter(|o| o.name != first.name);
    let other = others.next()?;
    others.next().is_none().then_some(other)
}

/// What is said of a name that no output has; `None` if one has it, or nothing was named.
pub fn missing(outputs: &[Output], wanted: Option<&str>) -> Option<String> {
    let name = wanted.filter(|name| outputs.iter().all(|o| o.name != *name))?;
    let there: Vec<&str> = outputs.iter().map(|o| o.name.as_str()).collect();
    let there = match there.is_empty() {
        true => "none".to_owned(),
        false => there.join(", "),
    };
    Some(format!(
        "there is no output \"{name}\", so the light is in a window; plug it in, or name one that \
         is there: {there}"
    ))
}

/// Watches the outputs on a thread of its own and tells when they change: the
/// windowing library keeps a list from its start under X11, and sends no word.
/// Does nothing where there is no X server; there the library's own list is good.
#[cfg(target_os = "linux")]
pub fn watch(tell: impl Fn(Vec<Output>) + Send + 'static) {
    let watching = move || {
        let Ok((connection, screen)) = x11rb::connect(None) else {
            return;
        };
        let mut last = None;
        while let Some(now) = asked(&connection, screen) {
            if last.as_ref() != Some(&now) {
                tell(now.clone());
                last = Some(now);
            }
            std::thread::sleep(LOOK_EVERY);
        }
    };
    // Without it the person can still pick the output again.
    let _ = std::thread::Builder::new()
        .name("outputs".to_owned())
        .spawn(watching);
}

#[cfg(not(target_os = "linux"))]
pub fn watch(_: impl Fn(Vec<Output>) + Send + 'static) {}

#[cfg(target_os = "linux")]
fn asked(connection: &impl x11rb::connection::Connection, screen: usize) -> Option<Vec<Output>> {
    use x11rb::protocol::randr::ConnectionExt as _;
    use x11rb::protocol::xproto::ConnectionExt as _;
    let root = connection.setup().roots.get(screen)?.root;
    let monitors = connection
        .randr_get_monitors(root, true)
        .ok()?
        .reply()
        .ok()?;
    let mut outputs = Vec::new();
    for m in monitors.monitors {
        let name = connection.get_atom_name(m.name).ok()?.reply().ok()?;
        outputs.push(Output {
            name: String::from_utf8_lossy(&name.name).into_owned(),
            place: [i32::from(m.x), i32::from(m.y)],
            size: [u32::from(m.width), u32::from(m.height)],
            primary: m.primary,
        });
    }
    Some(outputs)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn output(name: &str, x: i32, primary: bool) -> Output {
        Output {
            name: name.to_owned(),
            place: [x, 0],
            size: [1920, 1080],
            primary,
        }
    }

    #[test]
    fn the_projector_is_the_one_asked_for_or_the_only_other() {
        let two = [output("eDP-1", 0, true), output("HDMI-1", 1920, false)];
        let name = |o: Option<&Output>| o.map(|o| o.name.clone());
        assert_eq!(name(chosen(&two, None)).as_deref(), Some("HDMI-1"));
        assert_eq!(name(chosen(&two, Some("eDP-1"))).as_deref(), Some("eDP-1"));
        assert_eq!(chosen(&two, Some("DP-3")), None);
        assert_eq!(chosen(&two[..1], None), None);
        assert_eq!(missing(&two, Some("HDMI-1")), None);
        assert_eq!(missing(&two, None), None);
        let said = missing(&two, Some("HDMI-7")).unwrap();
        assert!(
            said.contains("\"HDMI-7\"") && said.ends_with("eDP-1, HDMI-1"),
            "{said}"
        );
        assert!(missing(&[], Some("HDMI-7")).unwrap().ends_with("none"));
        let three = [two.as_slice(), &[output("DP-2", 3840, false)]].concat();
        assert_eq!(chosen(&three, None), None);
    }
}
