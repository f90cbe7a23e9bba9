"""Photos as some phones keep them (heic): what reads them is loaded when the first one comes, as that takes longer than a photo."""


def read_heif() -> None:
    """Have Pillow read heic files; again and again is no harm."""
    from pillow_heif import register_heif_opener

    register_heif_opener()
