//! Pictures side by side, and as PNG.

use png::{BitDepth, ColorType, Compression, Encoder, EncodingError, Filter};

use super::Picture;

/// White space between pictures, pixels.
const GUTTER: usize = 6;

/// Lays pictures out in rows, top left aligned; every inner list is a row.
pub fn arrange(rows: &[Vec<Picture>]) -> Picture {
    let wide = |row: &Vec<Picture>| row.iter().map(|picture| picture.width + GUTTER).sum::<usize>();
    let high = |row: &Vec<Picture>| row.iter().map(|picture| picture.height + GUTTER).max().unwrap_or(0);
    let width = rows.iter().map(wide).max().unwrap_or(0) + GUTTER;
    let height = rows.iter().map(high).sum::<usize>() + GUTTER;
    let mut sheet = Picture { width, height, grey: vec![255; width * height] };
    let mut top = GUTTER;
    for row in rows {
        let mut left = GUTTER;
        for picture in row {
            sheet.paste(picture, left, top);
            left += picture.width + GUTTER;
        }
        top += high(row);
    }
    sheet
}

impl Picture {
    fn paste(&mut self, other: &Self, left: usize, top: usize) {
        for (from, to) in other.grey.chunks_exact(other.width).zip(self.grey.chunks_exact_mut(self.width).skip(top)) {
            for (from, to) in from.iter().zip(to.iter_mut().skip(left)) {
                *to = *from;
            }
        }
    }

    /// Its first columns.
    pub fn left_part(&self, width: usize) -> Self {
        let width = width.min(self.width);
        let grey = self.grey.chunks_exact(self.width.max(1)).flat_map(|row| row.iter().take(width).copied());
        Self { width, height: self.height, grey: grey.collect() }
    }

    /// As a PNG file of 256 greys.
    ///
    /// # Errors
    /// If the picture is empty.
    pub fn png(&self) -> Result<Vec<u8>, EncodingError> {
        encode(self.width, self.height, BitDepth::Eight, &self.grey)
    }

    /// As a PNG file of 16 greys, half as large: grain leaves nothing in the lower bits.
    ///
    /// # Errors
    /// If the picture is empty.
    pub fn small_png(&self) -> Result<Vec<u8>, EncodingError> {
        let mut packed = Vec::with_capacity(self.grey.len() / 2 + self.height);
        for row in self.grey.chunks(self.width.max(1)) {
            // 17 × 15 = 255: the nearest of sixteen levels.
            let level = |grey: u8| (u16::from(grey) + 8) / 17;
            packed.extend(row.chunks(2).map(|pair| {
                let second = pair.get(1).map_or(0, |grey| level(*grey));
                (level(pair[0]) << 4 | second) as u8
            }));
        }
        encode(self.width, self.height, BitDepth::Four, &packed)
    }
}

fn encode(width: usize, height: usize, depth: BitDepth, bytes: &[u8]) -> Result<Vec<u8>, EncodingError> {
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, width as u32, height as u32);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(depth);
    encoder.set_compression(Compression::Balanced);
    // Grain has no neighbours to be foretold from.
    encoder.set_filter(Filter::NoFilter);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(bytes)?;
    writer.finish()?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_png_of_either_depth_reads_back() {
        let picture = Picture { width: 3, height: 2, grey: vec![0, 17, 255, 34, 51, 68] };
        let read = |file: Vec<u8>| {
            let mut decoder = png::Decoder::new(std::io::Cursor::new(file));
            decoder.set_transformations(png::Transformations::EXPAND);
            let mut reader = decoder.read_info().expect("a header");
            let mut bytes = vec![0; reader.output_buffer_size().expect("small")];
            let info = reader.next_frame(&mut bytes).expect("a picture");
            bytes.truncate(info.buffer_size());
            bytes
        };
        assert_eq!(read(picture.png().expect("encoded")), picture.grey);
        assert_eq!(read(picture.small_png().expect("encoded")), picture.grey);
    }

    #[test]
    fn pictures_lie_where_they_should() {
        let one = |grey| Picture { width: 2, height: 2, grey: vec![grey; 4] };
        let sheet = arrange(&[vec![one(10), one(20)], vec![one(30)]]);
        assert_eq!((sheet.width, sheet.height), (2 * (2 + GUTTER) + GUTTER, 2 * (2 + GUTTER) + GUTTER));
        assert_eq!(sheet.grey[GUTTER * sheet.width + GUTTER + 2 + GUTTER], 20);
        assert_eq!(sheet.grey[(2 * GUTTER + 2) * sheet.width + GUTTER], 30);
        assert_eq!(sheet.grey.iter().filter(|grey| **grey == 255).count(), sheet.grey.len() - 12);
    }
}
