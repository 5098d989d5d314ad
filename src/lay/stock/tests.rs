use super::*;

#[test]
fn a_count_takes_what_is_still_wanted_and_no_more() {
    let part = |count, pair| Part {
        piece: "upper".into(),
        cloth: "canvas".into(),
        count,
        pair,
        inside: None,
    };
    let takes = |part: &Part, up, down| {
        let count = Count {
            article: "1",
            part,
            laid: Hands { up, down: 0 },
            cut: Hands { up: 0, down },
            any_hand: false,
        };
        (count.takes(Face::Up), count.takes(Face::Down))
    };
    let pair = part(2, true);
    assert_eq!(takes(&pair, 0, 0), (true, true));
    assert_eq!(takes(&pair, 1, 0), (false, true));
    assert_eq!(takes(&pair, 1, 1), (false, false));
    let two = part(2, false);
    assert_eq!(takes(&two, 0, 0), (true, true));
    assert_eq!(takes(&two, 1, 0), (true, false));
    assert_eq!(takes(&two, 0, 1), (false, true));
    assert_eq!(takes(&two, 2, 0), (false, false));
}

#[test]
fn what_is_too_much_is_told_with_what_to_do() {
    let part = |count, pair| Part {
        piece: "upper".into(),
        cloth: "canvas".into(),
        count,
        pair,
        inside: None,
    };
    let said = |part: &Part, laid: [u32; 2], cut: [u32; 2], any_hand| {
        let hands = |[up, down]: [u32; 2]| Hands { up, down };
        let count = Count {
            article: "1",
            part,
            laid: hands(laid),
            cut: hands(cut),
            any_hand,
        };
        let told = count.too_much();
        told.map(|(what, remedy)| format!("{what}; {remedy}"))
    };
    let (pair, two, four) = (part(2, true), part(2, false), part(4, true));
    for (part, laid, cut, any_hand) in [
        (&pair, [1, 1], [0, 0], false),
        (&pair, [0, 1], [1, 0], false),
        (&pair, [2, 0], [0, 0], true),
        (&two, [1, 1], [0, 0], true),
        (&two, [2, 0], [0, 0], false),
        (&two, [1, 0], [0, 0], false),
        (&four, [2, 1], [0, 0], false),
        // It is cut: nothing can be taken away any more.
        (&two, [0, 0], [3, 0], false),
    ] {
        assert_eq!(said(part, laid, cut, any_hand), None, "{laid:?} {cut:?}");
    }
    for (part, laid, cut, told) in [
        (
            &pair,
            [2, 0],
            [0, 0],
            "upper 1 in canvas: a pair needs 1 as drawn and 1 mirrored, and 2 and 0 are laid; \
             turn one of them over",
        ),
        (
            &pair,
            [2, 1],
            [0, 0],
            "upper 1 in canvas: 3 laid of 2, 2 as drawn, 1 mirrored; take one of them away",
        ),
        (
            &two,
            [2, 0],
            [2, 0],
            "upper 1 in canvas: 4 laid or cut of 2; take away what is too much",
        ),
        // Before all is laid.
        (
            &four,
            [0, 3],
            [0, 0],
            "upper 1 in canvas: a pair needs 2 as drawn and 2 mirrored, and 0 and 3 are laid; \
             turn one of them over",
        ),
        (
            &two,
            [1, 1],
            [0, 0],
            "upper 1 in canvas: all of them are to be alike, and 1 as drawn and 1 mirrored are \
             laid; turn over what lies unlike the rest",
        ),
        // Two plies of each.
        (
            &four,
            [4, 0],
            [0, 0],
            "upper 1 in canvas: a pair needs 2 as drawn and 2 mirrored, and 4 and 0 are laid; \
             turn over what is too much of one hand",
        ),
        // The hand that is too much is cut, and the other lies there.
        (
            &four,
            [0, 1],
            [3, 0],
            "upper 1 in canvas: a pair needs 2 as drawn and 2 mirrored, and 3 and 1 are laid or \
             cut; tell at the table that one of them is spoilt, and lay the other hand",
        ),
        (
            &pair,
            [0, 0],
            [2, 0],
            "upper 1 in canvas: a pair needs 1 as drawn and 1 mirrored, and 2 and 0 are laid or \
             cut; tell at the table that one of them is spoilt, and lay the other hand",
        ),
    ] {
        assert_eq!(said(part, laid, cut, false).as_deref(), Some(told));
    }
}
