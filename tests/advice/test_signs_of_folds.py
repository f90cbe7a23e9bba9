"""What each reading of folds usually means, in the words of the alterations it speaks for."""

from fitcheck.advice.folds import fold_rows
from fitcheck.advice.rows import Knowledge

# Taut lines point at the strain, loose folds lie across the excess.
MEANS = {
    "fold_fan_bust_point": {"full bust", "broad across the front"},
    "fold_verticals_below_bust": {"small bust", "narrow across the front"},
    "fold_horizontals_bust": {"full bust", "broad across the front"},
    "fold_horizontals_blade": {"broad back"},
    "fold_horizontals_hip": {"hip let out", "full seat", "full abdomen"},
    "fold_fan_hip_side": {"hip let out"},
    "fold_v_neck_to_underarm": {"sloping shoulders"},
    "fold_loose_horizontals_back_neck": {"square shoulders"},
    "fold_diagonal_shoulder_to_centre": {"square shoulders"},
    "fold_fan_shoulder_point": {"square shoulders", "broad shoulders"},
    "fold_diagonal_neck_to_armhole": {"forward shoulder", "high rounded upper back"},
    "fold_fan_side_neck_point": {"sloping shoulders"},
    "fold_loose_horizontals_back_waist": {"sway back", "back waist shortened"},
    "fold_diagonal_blade_to_waist": {"high rounded upper back"},
    "fold_verticals_back_armhole": {"narrow back", "high rounded upper back"},
    "fold_smiles_abdomen": {"full abdomen"},
    "fold_smiles_seat": {"full seat"},
}


def test_every_reading_of_folds_means_what_a_dressmaker_says(table: Knowledge) -> None:
    assert {place: {*row.names(table)} for place, row in fold_rows().items()} == MEANS
