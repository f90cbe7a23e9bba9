// Photos come by choosing or by dropping them anywhere on the page.

/** @param {(files: File[]) => void} take @param {(data: DataTransfer) => File[] | Promise<File[]>} filesOf what was dropped */
export function takeFiles(take, filesOf = (data) => [...data.files]) {
  const [files, drop] = [document.querySelector("#files"), document.querySelector("#drop")];
  const chosen = () => {
    if (files.files.length) take([...files.files]);
    files.value = "";
  };
  files.addEventListener("change", chosen);
  chosen(); // before this script was there
  for (const kind of ["dragover", "dragleave", "drop"])
    document.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.toggle("over", kind === "dragover");
    });
  document.addEventListener("drop", async (event) => take(await filesOf(event.dataTransfer)));
}
