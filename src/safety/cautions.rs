//! The usual cautions of the trade, in our own words.

use crate::menu::Caution;

/// Returns the usual caution, as one or two sentences without a full stop at the end.
///
/// Figures: the cooling times are those of the FDA Food Code §3-501.14(A) and of the England chill limit (SI
/// 2013/2996, Schedule 4); raw egg after FDA Food Code §3-801.11 and the FSA's advice of 2017; kernels after
/// EFSA Journal 2016;14(4):4424; carmine after 74 FR 216; honey and infants common advice of health
/// authorities (from memory).
pub fn caution_text(caution: Caution) -> &'static str {
    match caution {
        Caution::RawEgg => {
            "Egg that stays raw or soft can carry salmonella; use pasteurised egg for children, the old, the pregnant and the ill, and say so on the menu"
        }
        Caution::RawMilk => {
            "Unpasteurised milk or cream can carry dangerous germs; where the law lets you use it at all, say so to every guest"
        }
        Caution::HotSugar => {
            "Boiling sugar is far hotter than boiling water, sticks and goes on burning; clear the way, keep cold water beside you, never touch to test"
        }
        Caution::Cooling => {
            "Cool quickly: spread it shallow and stir over ice; a common rule is 57 to 21 °C within 2 h and to 5 °C within 6 h in all, others ask for less"
        }
        Caution::ToxicKernels => {
            "Raw apricot kernels, bitter almonds and the like give off cyanide; a few can poison a child; use only as much as the law and a tested method allow"
        }
        Caution::InedibleGarnish => {
            "Not everything pretty can be eaten, and florists' flowers are sprayed; take it off before serving or tell every guest"
        }
        Caution::OpenFlame => {
            "Never leave a flame or a hot hob alone; somebody stays in the building and looks in"
        }
        Caution::Alcohol => {
            "Alcohol stays in, even after cooking; tell guests, and make a portion without for those who want none"
        }
        Caution::NamedColour => {
            "This colouring must be named to guests; some people react badly to it"
        }
        Caution::Honey => "Honey is not for infants under one year",
        Caution::Cryogen => {
            "Dry ice and liquid nitrogen burn the skin and drive the air out of a room; air the room, wear gloves, and serve nothing until all of it is gone"
        }
        Caution::ChokingSize => {
            "A firm jelly that fits a child's throat can choke; cut it differently or keep it from small children"
        }
    }
}

/// Returns the short name of a caution, for lists.
pub fn caution_name(caution: Caution) -> &'static str {
    match caution {
        Caution::RawEgg => "raw egg",
        Caution::RawMilk => "unpasteurised milk",
        Caution::HotSugar => "hot sugar",
        Caution::Cooling => "cool quickly",
        Caution::ToxicKernels => "poisonous kernels",
        Caution::InedibleGarnish => "garnish not to be eaten",
        Caution::OpenFlame => "flame",
        Caution::Alcohol => "alcohol",
        Caution::NamedColour => "colouring to be named",
        Caution::Honey => "honey",
        Caution::Cryogen => "dry ice or nitrogen",
        Caution::ChokingSize => "choking size",
    }
}
