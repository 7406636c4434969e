//! Text in and out. The caller asks for room (`thawline_room`), writes its question there as UTF-8, and calls `thawline_plan`,
//! which gives the address of the answer: four bytes with its length, least first, then its UTF-8. The caller
//! copies it and gives it back (`thawline_free`).
#![allow(
    unsafe_code,
    reason = "exports keep their names, and texts are handed over by their address"
)]

use std::ptr;

/// Bytes of the length before an answer.
const HEAD: usize = 4;

/// Room for a question of so many bytes.
#[unsafe(no_mangle)]
extern "C" fn thawline_room(length: usize) -> *mut u8 {
    Box::into_raw(vec![0_u8; length].into_boxed_slice()).cast()
}

/// Plans the season of a question, whose room is given back: see [`crate::plan`].
///
/// # Safety
/// `question` came from [`thawline_room`] with the same length, and nobody uses it any more.
#[unsafe(no_mangle)]
unsafe extern "C" fn thawline_plan(question: *mut u8, length: usize) -> *mut u8 {
    // SAFETY: as the caller has it.
    let bytes = unsafe { Box::from_raw(ptr::slice_from_raw_parts_mut(question, length)) };
    let answer = crate::plan(&String::from_utf8_lossy(&bytes));
    let length = u32::try_from(answer.len()).unwrap_or_default();
    let mut told = Vec::with_capacity(HEAD + answer.len());
    told.extend(length.to_le_bytes());
    told.extend(answer.as_bytes());
    Box::into_raw(told.into_boxed_slice()).cast()
}

/// Gives an answer back.
///
/// # Safety
/// `answer` came from [`thawline_plan`], and nobody uses it any more.
#[unsafe(no_mangle)]
unsafe extern "C" fn thawline_free(answer: *mut u8) {
    // SAFETY: as the caller has it; its length stands before it.
    drop(unsafe {
        let head = *answer.cast::<[u8; HEAD]>();
        let length = HEAD + u32::from_le_bytes(head) as usize;
        Box::from_raw(ptr::slice_from_raw_parts_mut(answer, length))
    });
}
