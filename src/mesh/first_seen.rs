//! An index of things by their content, where the first of each kind wins.

/// Free slot.
const FREE: u32 = u32::MAX;

/// Open-addressing table of the indices of things the caller keeps in a list.
///
/// The list decides all numbers: nothing ever walks the table, so its order reaches no result.
#[derive(Debug, Default)]
pub(crate) struct FirstSeen {
    slots: Vec<u32>,
    filled: usize,
}

impl FirstSeen {
    /// The index of an earlier thing for which `same` holds; otherwise `next`, which is remembered.
    /// `hash_of` gives the hash of an index already remembered.
    pub(crate) fn find_or_insert(
        &mut self,
        hash: u64,
        next: u32,
        same: impl Fn(u32) -> bool,
        hash_of: impl Fn(u32) -> u64,
    ) -> u32 {
        if 2 * (self.filled + 1) > self.slots.len() {
            self.grow(hash_of);
        }
        let mask = self.slots.len() - 1;
        let mut at = hash as usize & mask;
        loop {
            match self.slots[at] {
                FREE => {
                    self.slots[at] = next;
                    self.filled += 1;
                    return next;
                }
                found if same(found) => return found,
                _ => at = (at + 1) & mask,
            }
        }
    }

    fn grow(&mut self, hash_of: impl Fn(u32) -> u64) {
        let size = (4 * self.slots.len()).max(64);
        let old = std::mem::replace(&mut self.slots, vec![FREE; size]);
        for i in old.into_iter().filter(|&i| i != FREE) {
            let mut at = hash_of(i) as usize & (size - 1);
            while self.slots[at] != FREE {
                at = (at + 1) & (size - 1);
            }
            self.slots[at] = i;
        }
    }
}

/// Mixes three words well enough for a table: multiply, fold the high half down.
pub(crate) fn mix(words: [u64; 3]) -> u64 {
    words.into_iter().fold(0x9e37_79b9_7f4a_7c15, |h, w| {
        let product = u128::from(h ^ w).wrapping_mul(0xd6e8_feb8_6659_fd93_a076_1d64_78bd_642f);
        (product ^ (product >> 64)) as u64
    })
}
