/* A file dropped on the page, and how much of it has been sent.
   Without this script the form works as it stands. */
"use strict";
{
  const form = document.getElementById("drop");
  const file = document.getElementById("file");
  const sending = document.getElementById("sending");
  const fault = document.getElementById("fault");
  const here = form.querySelector(".drop");
  form.querySelector(".drop-here").hidden = false;

  const tell = (text) => {
    fault.textContent = text;
    fault.hidden = !text;
    sending.hidden = true;
    form.querySelector("button").disabled = false;
  };
  for (const kind of ["dragenter", "dragover"]) {
    here.addEventListener(kind, (event) => { event.preventDefault(); here.classList.add("over"); });
  }
  for (const kind of ["dragleave", "drop"]) {
    here.addEventListener(kind, () => here.classList.remove("over"));
  }
  here.addEventListener("drop", (event) => {
    event.preventDefault();
    if (!event.dataTransfer.files.length) return;
    file.files = event.dataTransfer.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const size = [...form.querySelectorAll("input[type=file]")]
      .reduce((sum, input) => sum + (input.files[0] ? input.files[0].size : 0), 0);
    if (size > Number(form.dataset.most)) {
      tell("The file is larger than " + Math.floor(form.dataset.most / 1e6) + " MB. Split it.");
      return;
    }
    tell("");
    sending.hidden = false;
    form.querySelector("button").disabled = true;
    const sent = new XMLHttpRequest();
    sent.open("POST", form.action);
    sent.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) sending.value = event.loaded / event.total;
    });
    sent.addEventListener("error", () => tell("The file could not be sent. Try again."));
    sent.addEventListener("load", () => {
      if (sent.status < 300) { location.assign(sent.responseURL); return; }
      const page = new DOMParser().parseFromString(sent.responseText, "text/html");
      const said = page.querySelector(".verdict[role=alert]");
      tell(said ? said.textContent : "The file was not taken. Try again.");
    });
    sent.send(new FormData(form));
  });
}
