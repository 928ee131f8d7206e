//! Elements that belong together, asked together.

use super::element::Element;
use glam::DVec3;

/// Elements of one object and a ball round them: what cannot meet the ball meets none of them.
pub(super) struct Group {
    pub members: Vec<usize>,
    pub centre: DVec3,
    pub radius: f64,
}

impl Group {
    pub fn of(elements: &[Element], objects: usize) -> Vec<Self> {
        let mut lists = vec![Vec::new(); objects];
        for (index, element) in elements.iter().enumerate() {
            lists[element.object].push(index);
        }
        let group = |members: Vec<usize>| {
            let centres = members.iter().map(|&e| elements[e].centre);
            let centre = centres.sum::<DVec3>() / members.len().max(1) as f64;
            let reach = |&e: &usize| elements[e].centre.distance(centre) + elements[e].radius;
            Self {
                radius: members.iter().map(reach).fold(0.0, f64::max),
                members,
                centre,
            }
        };
        lists.into_iter().map(group).collect()
    }
}
