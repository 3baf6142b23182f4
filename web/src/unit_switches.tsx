/** The units this phone shows, and light or dark. Remembered on the phone. */

import { useState } from "preact/hooks";
import { STANDARD, type Choice } from "./units.ts";

const OPTIONS: { key: keyof Choice; name: string; options: string[] }[] = [
  { key: "temperature", name: "Temperature", options: ["C", "F"] },
  { key: "vacuum", name: "Vacuum", options: ["inHg", "kPa", "mbar"] },
  { key: "mass", name: "Mass", options: ["g", "oz"] },
  { key: "volume", name: "Volume", options: ["mL", "fl oz"] },
  { key: "length", name: "Length", options: ["mm", "in"] },
];

/** What was chosen on this phone before, or the standard; a phone in US English starts with F. */
export function rememberedChoice(): Choice {
  const remembered = OPTIONS.map(({ key, options }) => {
    const kept = localStorage.getItem(`unit-${key}`);
    return [key, kept !== null && options.includes(kept) ? kept : undefined];
  }).filter(([, kept]) => kept !== undefined);
  const start: Choice = navigator.language === "en-US" ? { ...STANDARD, temperature: "F" } : STANDARD;
  return { ...start, ...(Object.fromEntries(remembered) as Partial<Choice>) };
}

interface Props {
  choice: Choice;
  choose: (choice: Choice) => void;
}

export function UnitSwitches({ choice, choose }: Props) {
  const [light, setLight] = useState(localStorage.getItem("light") === "yes");
  document.documentElement.classList.toggle("light", light);
  const pick = (key: keyof Choice, value: string) => {
    localStorage.setItem(`unit-${key}`, value);
    choose({ ...choice, [key]: value });
  };
  return (
    <details class="card more" data-show="units">
      <summary>Units and light</summary>
      {OPTIONS.map(({ key, name, options }) => (
        <fieldset key={key}>
          <legend>{name}</legend>
          {options.map((option) => (
            <label key={option}>
              <input type="radio" name={key} checked={choice[key] === option} onChange={() => pick(key, option)} />
              <span>{key === "temperature" ? `°${option}` : option}</span>
            </label>
          ))}
        </fieldset>
      ))}
      <fieldset>
        <legend>Screen</legend>
        {["dark", "light"].map((option) => (
          <label key={option}>
            <input
              type="radio"
              name="screen"
              checked={light === (option === "light")}
              onChange={() => {
                localStorage.setItem("light", option === "light" ? "yes" : "no");
                setLight(option === "light");
              }}
            />
            <span>{option}</span>
          </label>
        ))}
      </fieldset>
    </details>
  );
}
