// The kept picture to a window, pixel for pixel; a page of coloured pixels behind
// it where the table is being set; or, where the table is simulated, that table
// with the light upon it.

struct Way {
    // Window and picture, px.
    window: vec2<f32>,
    picture: vec2<f32>,
    // 1 if the window's format encodes sRGB itself; 1 if there is a page; 1 if
    // there is a simulated table.
    encodes: f32,
    page: f32,
    table: f32,
    // Light of the simulated room, the projector's white = 1.
    room: f32,
    // 1 for each of red, green and blue that is on.
    tint: vec4<f32>,
}

@group(0) @binding(0) var<uniform> way: Way;
@group(0) @binding(1) var light: texture_2d<f32>;
@group(0) @binding(2) var page: texture_2d<f32>;
@group(0) @binding(3) var table: texture_2d<f32>;

@vertex
fn cover(@builtin(vertex_index) k: u32) -> @builtin(position) vec4<f32> {
    // One triangle over the whole window.
    let x = f32(i32(k & 1u) * 4 - 1);
    let y = f32(i32(k >> 1u) * 4 - 1);
    return vec4<f32>(x, y, 0.0, 1.0);
}

fn decode(c: vec3<f32>) -> vec3<f32> {
    return select(pow((c + 0.055) / 1.055, vec3<f32>(2.4)), c / 12.92, c <= vec3<f32>(0.04045));
}

fn encode(l: vec3<f32>) -> vec3<f32> {
    let c = clamp(l, vec3<f32>(0.0), vec3<f32>(1.0));
    return select(1.055 * pow(c, vec3<f32>(1.0 / 2.4)) - 0.055, c * 12.92, c <= vec3<f32>(0.0031308));
}

// The kept picture at a pixel, in its colour: a channel is as it was, or nothing.
fn tinted(at: vec2<i32>) -> vec3<f32> {
    return textureLoad(light, at, 0).rgb * way.tint.rgb;
}

// The codes of the projector's picture at a pixel.
fn codes(at: vec2<i32>) -> vec3<f32> {
    let lit = tinted(at);
    if (way.page < 0.5) {
        return lit;
    }
    // The page shows where no outline is lit: letters stand upon it.
    return max(lit, textureLoad(page, at, 0).rgb);
}

// The simulated table at a pixel, as codes: reflectance times all the light.
fn seen(at: vec2<i32>) -> vec3<f32> {
    let falls = vec3<f32>(1.0, 0.80, 0.58) * way.room + decode(codes(at));
    return encode(decode(textureLoad(table, at, 0).rgb) * falls);
}

fn shown(at: vec2<i32>) -> vec3<f32> {
    if (way.table > 0.5) {
        return seen(at);
    }
    return codes(at);
}

@fragment
fn paint(@builtin(position) pos: vec4<f32>) -> @location(0) vec4<f32> {
    let last = vec2<i32>(way.picture) - vec2<i32>(1);
    var out: vec3<f32>;
    if (all(way.window == way.picture)) {
        out = shown(vec2<i32>(pos.xy));
    } else {
        // A window of another size is for looking only: the mean of the picture's
        // pixels under this one.
        let low = vec2<i32>(floor((pos.xy - 0.5) * way.picture / way.window));
        let high = vec2<i32>(ceil((pos.xy + 0.5) * way.picture / way.window)) - vec2<i32>(1);
        var sum = vec3<f32>(0.0);
        var count = 0.0;
        for (var y = low.y; y <= min(high.y, low.y + 3); y++) {
            for (var x = low.x; x <= min(high.x, low.x + 3); x++) {
                sum += decode(shown(clamp(vec2<i32>(x, y), vec2<i32>(0), last)));
                count += 1.0;
            }
        }
        out = encode(sum / max(count, 1.0));
    }
    if (way.encodes > 0.5) {
        out = decode(out);
    }
    return vec4<f32>(out, 1.0);
}

// The same where window and picture are of one size, the window takes codes and
// there is no table: the usual case, without a branch. (Software drivers run both
// sides of every branch, powers and all, for every pixel.)
@fragment
fn paint_plain(@builtin(position) pos: vec4<f32>) -> @location(0) vec4<f32> {
    return vec4<f32>(tinted(vec2<i32>(pos.xy)), 1.0);
}

// The same over a page.
@fragment
fn paint_page(@builtin(position) pos: vec4<f32>) -> @location(0) vec4<f32> {
    let at = vec2<i32>(pos.xy);
    let under = textureLoad(page, at, 0).rgb;
    return vec4<f32>(max(tinted(at), under), 1.0);
}
