//! What a script gets when it asks the module for a picture.

use crate::page::Page;

scenarios! {
    served (Served): options_are_followed_or_named;
}

/// The picture's `viewBox`, or the error's code and message, for several options.
const ASK: &str = "
const done = arguments[0];
import('./halfbar_piece.js').then(async ({ default: init, Piece }) => {
    await init();
    const piece = new Piece('C4 D E F G A B C |');
    const ask = (options) => {
        try {
            return /viewBox=\"([^\"]*)/.exec(piece.svg(options))[1];
        } catch (error) {
            return error instanceof Error ? `${error.code}: ${error.message}` : 'no Error';
        }
    };
    const usual = ask();
    done([
        ask({ width: undefined, head: undefined }) === usual,
        ask({ view: 'tab' }) !== usual && ask({ head: false }) !== usual && ask({ fingers: true }) !== usual,
        ...[{ width: 60 }, { widht: 60 }, { width: 'wide' }, { head: 1 }, { view: 'all' }, 60].map(ask),
    ].map(String));
}, (error) => done([`${error}`]));";

async fn options_are_followed_or_named(page: Page) {
    page.open(1280).await;
    let answer = page.driver().execute_async(ASK, Vec::new()).await.unwrap();
    let said: Vec<String> = answer.convert().unwrap();
    // 60 spaces of 250 units, plus a space on each side.
    let [same, other, wide, wrong @ ..] = said.as_slice() else { panic!("{said:?}") };
    assert_eq!((same.as_str(), other.as_str()), ("true", "true"), "{said:?}");
    assert!(wide.starts_with("-250 -250 15500 "), "{wide}");
    assert_eq!(
        wrong,
        [
            "option: there is no option `widht`",
            "option: the option `width` has the wrong type",
            "option: the option `head` has the wrong type",
            "view: there is no view `all`",
            "option: the options are not an object",
        ]
    );
}
