//! A desktop with two outputs, a window manager and hands, for the live table's
//! tests: an X server without hardware, driven by xdotool.

use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use x11rb::connection::Connection as _;
use x11rb::protocol::xproto::{
    ConnectionExt as _, CreateWindowAux, ImageFormat, ImageOrder, InputFocus, WindowClass,
};
use x11rb::rust_connection::RustConnection;

const CONFIG: &str = r#"
Section "Device"
    Identifier "dummy"
    Driver "dummy"
    VideoRam 256000
EndSection
Section "Monitor"
    Identifier "monitor"
    HorizSync 5.0-1000.0
    VertRefresh 5.0-200.0
EndSection
Section "Screen"
    Identifier "screen"
    Device "dummy"
    Monitor "monitor"
    DefaultDepth 24
    SubSection "Display"
        Depth 24
        Modes "1280x720"
        Virtual 3840 2160
    EndSubSection
EndSection
"#;

/// The laptop's output, and the projector's.
pub const LAPTOP: &str = "DUMMY0";
pub const PROJECTOR: &str = "DUMMY1";
pub const LAPTOP_WIDTH: i32 = 1280;

/// What the tests of the windows need beside Rust.
const NEEDS: [&str; 4] = ["Xorg", "openbox", "xrandr", "xdotool"];

/// Set where the tests must not be passed over.
const MUST: &str = "GHOSTCHALK_DESKTOP_TESTS";

/// The display that the next desktop takes, if it is free.
static NEXT: AtomicU32 = AtomicU32::new(90);

/// Where the server of a display listens.
fn socket(display: u32) -> String {
    format!("/tmp/.X11-unix/X{display}")
}

pub struct Desktop {
    server: Child,
    manager: Option<Child>,
    number: u32,
    display: String,
}

impl Desktop {
    /// Starts one; `None` on a machine that can't, unless it must.
    pub fn start(folder: &Path) -> Option<Self> {
        let there = |tool: &&str| {
            let paths = std::env::var_os("PATH").unwrap_or_default();
            std::env::split_paths(&paths).any(|p| p.join(tool).exists())
        };
        let lacks: Vec<_> = NEEDS.iter().filter(|t| !there(t)).collect();
        if !lacks.is_empty() {
            assert!(
                std::env::var_os(MUST).is_none(),
                "{MUST} is set, and {lacks:?} are not installed"
            );
            eprintln!(
                "passed over: the windows are not tested here, for {lacks:?} are not installed"
            );
            return None;
        }
        let config = folder.join("xorg.conf");
        std::fs::write(&config, CONFIG).unwrap();
        // What a killed server left is taken over by the next; one that answers is another's.
        let free = std::iter::repeat_with(|| NEXT.fetch_add(1, Ordering::Relaxed))
            .take_while(|n| *n < 200)
            .find(|n| UnixStream::connect(socket(*n)).is_err());
        let free = free.expect("a display that no other server has");
        let display = format!(":{free}");
        let server = Command::new("Xorg")
            .args([&display, "-noreset", "-nolisten", "tcp", "-config"])
            .arg(&config)
            .arg("-logfile")
            .arg(folder.join("xorg.log"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut desktop = Self {
            server,
            manager: None,
            number: free,
            display,
        };
        desktop.until("the X server is up", || desktop.runs("xrandr", &[]));
        desktop.plug_in([1920, 1080]);
        let manager = desktop.command("openbox").spawn().unwrap();
        desktop.manager = Some(manager);
        Some(desktop)
    }

    /// The projector comes, right of the laptop.
    pub fn plug_in(&self, [width, height]: [u32; 2]) {
        let mode = format!("{width}x{height}");
        self.runs("xrandr", &["--addmode", PROJECTOR, &mode]);
        let place = ["--output", PROJECTOR, "--mode", &mode, "--right-of", LAPTOP];
        assert!(self.runs("xrandr", &place));
    }

    /// The projector goes.
    pub fn unplug(&self) {
        assert!(self.runs("xrandr", &["--output", PROJECTOR, "--off"]));
    }

    /// A command on this desktop, silent.
    pub fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        command
            .env("DISPLAY", &self.display)
            .env_remove("WAYLAND_DISPLAY")
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command
    }

    fn runs(&self, program: &str, args: &[&str]) -> bool {
        let done = self.command(program).args(args).status();
        done.is_ok_and(|s| s.success())
    }

    /// Hands: xdotool's words.
    pub fn hand(&self, words: &[&str]) {
        assert!(self.runs("xdotool", words), "xdotool {words:?}");
    }

    /// The mouse goes to a pixel of the projector.
    pub fn point(&self, x: f64, y: f64) {
        let x = (f64::from(LAPTOP_WIDTH) + x).floor().to_string();
        let y = y.floor().to_string();
        self.hand(&["mousemove", "--sync", &x, &y]);
    }

    /// The mouse goes to the laptop.
    pub fn point_away(&self) {
        self.hand(&["mousemove", "--sync", "640", "700"]);
    }

    /// Another program's window takes the keyboard, for as long as it is held.
    pub fn other_program(&self) -> impl Sized + use<> {
        let (connection, root) = self.connect();
        let screens = &connection.setup().roots;
        let visual = screens.iter().find(|s| s.root == root).unwrap().root_visual;
        let window = connection.generate_id().unwrap();
        // The window manager leaves it alone.
        let look = CreateWindowAux::new()
            .override_redirect(1)
            .background_pixel(0x33_66_99);
        connection
            .create_window(
                0,
                window,
                root,
                20,
                900,
                60,
                60,
                0,
                WindowClass::INPUT_OUTPUT,
                visual,
                &look,
            )
            .unwrap();
        connection.map_window(window).unwrap();
        // Only a window that can be seen takes it.
        connection.flush().unwrap();
        std::thread::sleep(Duration::from_millis(300));
        let asked = connection.set_input_focus(InputFocus::POINTER_ROOT, window, 0_u32);
        asked.unwrap().check().unwrap();
        connection
    }

    /// What the projector shows, row by row: red, green, blue.
    pub fn projector(&self, [width, height]: [u32; 2]) -> Vec<[u8; 3]> {
        self.seen(LAPTOP_WIDTH, [width, height])
    }

    /// What the desktop shows from a column on, of so many pixels.
    fn seen(&self, from: i32, [width, height]: [u32; 2]) -> Vec<[u8; 3]> {
        let (connection, root) = self.connect();
        let size = [from, width as i32, height as i32].map(|n| n as u16);
        let shot = connection
            .get_image(
                ImageFormat::Z_PIXMAP,
                root,
                size[0] as i16,
                0,
                size[1],
                size[2],
                !0,
            )
            .unwrap()
            .reply()
            .unwrap();
        // Four bytes a pixel at this depth, blue first.
        assert_eq!(
            (shot.depth, shot.data.len()),
            (24, (width * height * 4) as usize)
        );
        assert_eq!(connection.setup().image_byte_order, ImageOrder::LSB_FIRST);
        let pixels = shot.data.chunks_exact(4);
        pixels.map(|p| [p[2], p[1], p[0]]).collect()
    }

    /// A connection of the tests' own, and the window that is all of the desktop.
    fn connect(&self) -> (RustConnection, u32) {
        let (connection, screen) = x11rb::connect(Some(&self.display)).unwrap();
        let root = connection.setup().roots[screen].root;
        (connection, root)
    }

    /// All of the desktop in a file.
    fn keep_shot(&self, path: &Path) {
        let (connection, root) = self.connect();
        let all = connection.get_geometry(root).unwrap().reply().unwrap();
        let size = [u32::from(all.width), u32::from(all.height)];
        let rgb = self.seen(0, size).concat();
        image::RgbImage::from_raw(size[0], size[1], rgb)
            .unwrap()
            .save(path)
            .unwrap();
    }

    /// Waits until something holds.
    pub fn until(&self, what: &str, mut holds: impl FnMut() -> bool) {
        let patience = Duration::from_secs(60);
        let began = Instant::now();
        while !holds() {
            if began.elapsed() > patience {
                let shot = concat!(env!("CARGO_TARGET_TMPDIR"), "/desktop.png");
                self.keep_shot(Path::new(shot));
                panic!("waited in vain until {what}; the desktop is in {shot}");
            }
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

impl Drop for Desktop {
    fn drop(&mut self) {
        for child in self.manager.iter_mut().chain([&mut self.server]) {
            let _ = child.kill();
            let _ = child.wait();
        }
        // Killed, the server takes nothing away itself.
        let _ = std::fs::remove_file(socket(self.number));
        let _ = std::fs::remove_file(format!("/tmp/.X{}-lock", self.number));
    }
}
