//! Cividis, the colour map of every field: it reads alike to eyes with and without red and green, and its
//! lightness rises evenly, so that it also reads in grey.
//!
//! J. R. Nunez, C. R. Anderton, R. S. Renslow, Optimizing colormaps with consideration for color vision
//! deficiency to enable accurate interpretation of scientific data, PLoS ONE 13(7), e0199239 (2018).

/// The published table in eight bits for each of red, green and blue.
#[rustfmt::skip]
const TABLE: [u32; 256] = [
    0x00224e, 0x00234f, 0x002451, 0x002553, 0x002554, 0x002656, 0x002758, 0x002859, 0x00285b, 0x00295d,
    0x002a5f, 0x002a61, 0x002b62, 0x002c64, 0x002c66, 0x002d68, 0x002e6a, 0x002e6c, 0x002f6d, 0x00306f,
    0x003070, 0x003170, 0x003171, 0x013271, 0x053371, 0x083370, 0x0c3470, 0x0f3570, 0x123570, 0x143670,
    0x163770, 0x18376f, 0x1a386f, 0x1c396f, 0x1e3a6f, 0x203a6f, 0x213b6e, 0x233c6e, 0x243c6e, 0x263d6e,
    0x273e6e, 0x293f6e, 0x2a3f6d, 0x2b406d, 0x2d416d, 0x2e416d, 0x2f426d, 0x31436d, 0x32436d, 0x33446d,
    0x34456c, 0x35456c, 0x36466c, 0x38476c, 0x39486c, 0x3a486c, 0x3b496c, 0x3c4a6c, 0x3d4a6c, 0x3e4b6c,
    0x3f4c6c, 0x404c6c, 0x414d6c, 0x424e6c, 0x434e6c, 0x444f6c, 0x45506c, 0x46516c, 0x47516c, 0x48526c,
    0x49536c, 0x4a536c, 0x4b546c, 0x4c556c, 0x4d556c, 0x4e566c, 0x4f576c, 0x50576c, 0x51586d, 0x52596d,
    0x535a6d, 0x545a6d, 0x555b6d, 0x555c6d, 0x565c6d, 0x575d6d, 0x585e6d, 0x595e6e, 0x5a5f6e, 0x5b606e,
    0x5c616e, 0x5d616e, 0x5e626e, 0x5e636f, 0x5f636f, 0x60646f, 0x61656f, 0x62656f, 0x636670, 0x646770,
    0x656870, 0x656870, 0x666970, 0x676a71, 0x686a71, 0x696b71, 0x6a6c71, 0x6b6d72, 0x6c6d72, 0x6c6e72,
    0x6d6f72, 0x6e6f73, 0x6f7073, 0x707173, 0x717274, 0x727274, 0x727374, 0x737475, 0x747475, 0x757575,
    0x767676, 0x777776, 0x777777, 0x787877, 0x797977, 0x7a7a78, 0x7b7a78, 0x7c7b78, 0x7d7c78, 0x7e7c78,
    0x7e7d78, 0x7f7e78, 0x807f78, 0x817f78, 0x828079, 0x838179, 0x848279, 0x858279, 0x868379, 0x878478,
    0x888578, 0x898578, 0x8a8678, 0x8b8778, 0x8c8878, 0x8d8878, 0x8e8978, 0x8f8a78, 0x908b78, 0x918b78,
    0x928c78, 0x928d78, 0x938e78, 0x948e77, 0x958f77, 0x969077, 0x979177, 0x989277, 0x999277, 0x9a9376,
    0x9b9476, 0x9c9576, 0x9d9576, 0x9e9676, 0x9f9775, 0xa09875, 0xa19975, 0xa29975, 0xa39a74, 0xa49b74,
    0xa59c74, 0xa69c74, 0xa79d73, 0xa89e73, 0xa99f73, 0xaaa073, 0xaba072, 0xaca172, 0xada272, 0xaea371,
    0xafa471, 0xb0a571, 0xb1a570, 0xb3a670, 0xb4a76f, 0xb5a86f, 0xb6a96f, 0xb7a96e, 0xb8aa6e, 0xb9ab6d,
    0xbaac6d, 0xbbad6d, 0xbcae6c, 0xbdae6c, 0xbeaf6b, 0xbfb06b, 0xc0b16a, 0xc1b26a, 0xc2b369, 0xc3b369,
    0xc4b468, 0xc5b568, 0xc6b667, 0xc7b767, 0xc8b866, 0xc9b965, 0xcbb965, 0xccba64, 0xcdbb63, 0xcebc63,
    0xcfbd62, 0xd0be62, 0xd1bf61, 0xd2c060, 0xd3c05f, 0xd4c15f, 0xd5c25e, 0xd6c35d, 0xd7c45c, 0xd9c55c,
    0xdac65b, 0xdbc75a, 0xdcc859, 0xddc858, 0xdec958, 0xdfca57, 0xe0cb56, 0xe1cc55, 0xe2cd54, 0xe4ce53,
    0xe5cf52, 0xe6d051, 0xe7d150, 0xe8d24f, 0xe9d34e, 0xead34c, 0xebd44b, 0xedd54a, 0xeed649, 0xefd748,
    0xf0d846, 0xf1d945, 0xf2da44, 0xf3db42, 0xf5dc41, 0xf6dd3f, 0xf7de3e, 0xf8df3c, 0xf9e03a, 0xfbe138,
    0xfce236, 0xfde334, 0xfee434, 0xfee535, 0xfee636, 0xfee838,
];

/// Red, green and blue of a level, from 0 (dark, the low end) to 255 (light, the high end).
#[must_use]
pub fn cividis(level: u8) -> [u8; 3] {
    let [_, red, green, blue] = TABLE
        .get(usize::from(level))
        .copied()
        .unwrap_or_default()
        .to_be_bytes();
    [red, green, blue]
}

/// The level of a share of the scale from 0 to 1; what lies outside takes the nearest end, what is not a
/// number the low one.
#[must_use]
pub fn level(share: f64) -> u8 {
    // The cast clamps, and turns what is not a number into nought.
    (share * 255.0).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the published table (S1 of the paper, as distributed), from 0 to 1.
    #[test]
    fn published_values_are_met_to_the_last_bit() {
        for (at, rgb) in [
            (0, [0.0, 0.135_112, 0.304_751]),
            (1, [0.0, 0.138_068, 0.311_105]),
            (63, [0.259_740, 0.305_120, 0.422_810]),
            (128, [0.488_697, 0.485_318, 0.471_008]),
            (191, [0.732_422, 0.677_364, 0.425_717]),
            (230, [0.896_818, 0.811_030, 0.320_982]),
            (255, [0.995_737, 0.909_344, 0.217_772]),
        ] {
            let want: [f64; 3] = rgb;
            assert_eq!(cividis(at), want.map(|c| (c * 255.0).round() as u8), "{at}");
        }
    }

    /// CIE 1976 lightness from sRGB (IEC 61966-2-1): it rises all the way, and by about as much in each half.
    #[test]
    fn the_lightness_rises_evenly() {
        let light = |at: u8| {
            let linear = cividis(at).map(|c| {
                let c = f64::from(c) / 255.0;
                if c <= 0.040_45 {
                    c / 12.92
                } else {
                    ((c + 0.055) / 1.055).powf(2.4)
                }
            });
            let y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
            116.0 * y.cbrt() - 16.0
        };
        for at in 0..=255u8 {
            let later = at.saturating_add(3);
            assert!(later == 255 || light(later) > light(at), "{at}");
        }
        let (low, middle, high) = (light(0), light(128), light(255));
        assert!(((middle - low) / (high - low) - 0.5).abs() < 0.03);
    }

    #[test]
    fn shares_become_levels_and_nonsense_an_end() {
        let levels = [-1.0, 0.0, 0.5, 1.0, 7.0, f64::NAN].map(level);
        assert_eq!(levels, [0, 0, 128, 255, 255, 0]);
    }
}
