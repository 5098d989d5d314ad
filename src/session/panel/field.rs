//! A field to type a line in.

use super::style::{BODY, letters};
use egui::{Response, TextEdit, Ui};

/// A field of a name that is read out and no other on its leaf has; `hint` stands in it while
/// it is empty.
pub fn field(ui: &mut Ui, text: &mut String, (name, hint): (&str, &str), width: f32) -> Response {
    let edit = TextEdit::singleline(text)
        .hint_text(hint)
        .id_salt(("field", name))
        .font(letters(BODY))
        .desired_width(width);
    let field = ui.add(edit);
    let name = name.to_owned();
    ui.ctx()
        .accesskit_node_builder(field.id, |node| node.set_label(name));
    field
}
