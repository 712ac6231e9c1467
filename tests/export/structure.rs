//! What the schema of MusicXML doesn't check.

use halfbar_core::exchange::musicxml::{Staves, document};
use halfbar_core::{Piece, read};
use halfbar_tests::measures::problems;
use halfbar_tests::{lines, random};
use proptest::prelude::*;

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/export.regressions");

proptest! {
    #![proptest_config(random(KEPT))]

    /// Published source: MusicXML 4.0 (W3C), the rules that its schema doesn't check.
    #[test]
    fn measures_add_up((line, casting) in lines::line()) {
        let piece = Piece::new(line, casting).unwrap();
        for staves in Staves::ALL {
            let xml = document(&piece, "", staves).unwrap();
            prop_assert_eq!(problems(&xml), Vec::<String>::new(), "{}", xml);
        }
    }
}

/// The checks fail where they should.
#[test]
fn damaged_measures_are_found() {
    let text =
        "@C (B3)C4:1/3_ D:1/3 E:1/3 F#4:3/4~ @G7 F#:1/4_s G A_ B:1~ | B:4 | C4:2/3 D:1/3 E:1/3 F:2/3 G:2 |";
    let reading = read::text(text);
    assert_eq!(reading.diagnostics, []);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let xml = document(&piece, text, Staves::Both).unwrap();
    assert_eq!(problems(&xml), Vec::<String>::new());
    for (whole, damaged) in [
        ("<backup>", "<forward>"),
        ("<tie type=\"stop\"/>", ""),
        ("<tied type=\"start\"/>", ""),
        ("<string>", "<pluck>"),
        ("<fret>", "<fret>1"),
        ("<tuplet type=\"stop\" number=\"1\"/>", ""),
        ("<actual-notes>3<", "<actual-notes>5<"),
        ("<normal-type>eighth</normal-type>", ""),
        ("<slur type=\"stop\" number=\"1\"/>", ""),
        ("<slide type=\"start\"", "<slide type=\"stop\""),
        ("<hammer-on type=\"stop\"/>", ""),
        ("<type>whole<", "<type>half<"),
        (">begin<", ">continue<"),
        ("<accidental>sharp<", "<accidental>flat<"),
        ("id=\"n1\"", "id=\"n2\""),
        ("<beats>4<", "<beats>3<"),
    ] {
        let close = |tag: &str| format!("</{}", tag.trim_start_matches('<'));
        let mut other = xml.replacen(whole, damaged, 1);
        if whole == "<backup>" || whole == "<string>" {
            other = other.replacen(&close(whole), &close(damaged), 1);
        }
        assert_ne!(other, xml, "{whole} is not there");
        assert_ne!(problems(&other), Vec::<String>::new(), "{whole} instead of {damaged}");
    }
}
