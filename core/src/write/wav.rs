//! Samples -> WAV: 16 bits, one channel.

use std::io::Cursor;

use hound::{SampleFormat, WavSpec, WavWriter};

use crate::error::Result;
use crate::perform::PerformError;

/// Samples from -1 to 1 at this sample rate, as a WAV file. Anything beyond is clipped.
///
/// ```
/// let file = halfbar_core::write::wav::document(&[0.0, 0.5, -0.5], 48_000)?;
/// assert_eq!((&file[..4], &file[8..12], file.len()), (&b"RIFF"[..], &b"WAVE"[..], 44 + 6));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`PerformError::Take`] for more samples than a WAV file can hold.
pub fn document(samples: &[f32], rate: u32) -> Result<Vec<u8>> {
    let mut file = Cursor::new(Vec::with_capacity(44 + 2 * samples.len()));
    let spec =
        WavSpec { channels: 1, sample_rate: rate, bits_per_sample: 16, sample_format: SampleFormat::Int };
    write(&mut file, spec, samples).map_err(|_| PerformError::Take)?;
    Ok(file.into_inner())
}

fn write(file: &mut Cursor<Vec<u8>>, spec: WavSpec, samples: &[f32]) -> hound::Result<()> {
    let mut writer = WavWriter::new(file, spec)?;
    for sample in samples {
        writer.write_sample(sixteen_bits(*sample))?;
    }
    writer.finalize()
}

#[allow(clippy::cast_possible_truncation, reason = "a conversion to an integer type saturates")]
fn sixteen_bits(sample: f32) -> i16 {
    (sample * f32::from(i16::MAX)).round() as i16
}
